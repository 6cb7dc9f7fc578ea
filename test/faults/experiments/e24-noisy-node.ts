import { setTimeout as sleep } from 'node:timers/promises';
import { waitFor } from '@duskline/test-harness';
import { encodeMessage, topicFor } from '@duskline/wire';
import mqtt from 'mqtt';
import { judge, type Experiment } from '../experiment.ts';
import { plainClient } from '../generator/plain-client.ts';
import { intact, openStand, PAST_MS, settle, steadyStream } from '../stand.ts';
import { percentile, seconds } from './figures.ts';

const LAG_MORE_MS = 1000;

/** Four messages of 200 kB in each of its hundred places, and what a server takes that is busy. */
const MOST_RSS_MB = 400;

/** One node shouts: as many messages as it can, large ones, and a line that comes and goes; the others are not to notice. */
export const noisyNode: Experiment = {
  id: 'E24',
  name: 'noisy-node',
  place: 'alone',
  brokers: ['embedded', 'mosquitto'],
  shortBroker: 'embedded',
  async run(lab, broker) {
    const eachMs = lab.full ? 60_000 : 6000;
    const stand = await openStand(lab, {
      broker,
      nodes: 5,
      // While there is memory the runtime leaves its garbage lying: 293 to 440 MB in eight runs of one program. What a server
      // needs shows where it is told to make do, and one that keeps what is shouted at it ends.
      env: { NODE_OPTIONS: '--max-old-space-size=192' },
    });
    await stand.server.start();
    const startMs = Math.floor(Date.now() / 1000) * 1000 - PAST_MS;
    const nodes = stand.startNodes(() => [steadyStream(startMs, { perMessage: 1, everyMs: 100 })], {
      only: [0, 1, 2, 3],
    });
    await sleep(eachMs);
    const lags = () => nodes.flatMap(({ streams }) => streams.flatMap((one) => one.lagsMs));
    const quiet = lags();
    const rssBefore = stand.server.rssMb();
    const { name, secret } = stand.nodes[4] ?? { name: '' as never, secret: '' };
    const client = plainClient({ url: stand.mqttUrl, node: name, secret, inFlight: 100 });
    lab.undo(() => client.close());
    const untilMs = Date.now() + eachMs;
    let shouted = 0;
    await client
      .publishAll(100_000_000, () => {
        if (Date.now() > untilMs) throw new Over();
        shouted += 1;
        const samples = [
          { observedAtMs: startMs + shouted * 10, metrics: ['batt_v'] as const, values: [12.5] },
        ];
        return {
          topic: topicFor(name, 'live'),
          payload: Buffer.from(encodeMessage({ node: name, samples })),
        };
      })
      .catch((cause: unknown) => {
        if (!(cause instanceof Over)) throw cause;
      });
    const large = Buffer.alloc(200_000, 'x');
    const largeUntilMs = Date.now() + eachMs / 2;
    await client
      .publishAll(100_000_000, () => {
        if (Date.now() > largeUntilMs) throw new Over();
        return { topic: topicFor(name, 'live'), payload: large };
      })
      .catch((cause: unknown) => {
        if (!(cause instanceof Over)) throw cause;
      });
    await client.close();
    const reconnects = await comeAndGo(stand.mqttUrl, { name, secret, forMs: eachMs });
    // What it holds on to stays; what was dropped is collected within a moment.
    await waitFor('its garbage to be collected', () => stand.server.rssMb() <= MOST_RSS_MB, {
      withinMs: 20_000,
    }).catch(() => false);
    const rssMb = stand.server.rssMb();
    const noisy = lags().slice(quiet.length);
    const [p99Quiet, p99] = [percentile(quiet, 0.99), percentile(noisy, 0.99)];
    const exits = stand.server.exits();
    const settled = await settle(nodes);
    const verdict = await stand.check(nodes);
    return judge(
      {
        shouted,
        perS: Math.round(shouted / (eachMs / 1000)),
        reconnects,
        ...verdict,
        lagP99S: seconds(p99),
        lagP99QuietS: seconds(p99Quiet),
        rssMb,
        rssGrowthMb: rssMb - rssBefore,
        exits,
      },
      [
        ...intact(verdict, settled),
        {
          what: `the others waited ${seconds(p99)} s instead of ${seconds(p99Quiet)} s (p99)`,
          isPace: true,
          reached: p99 - p99Quiet <= LAG_MORE_MS,
        },
        { what: `the server took ${rssMb} MB`, reached: rssMb <= MOST_RSS_MB },
        { what: `the server ended ${exits} times`, reached: exits === 0 },
      ],
    );
  },
};

class Over extends Error {}

async function comeAndGo(
  url: string,
  {
    name,
    secret,
    forMs,
  }: { readonly name: string; readonly secret: string; readonly forMs: number },
): Promise<number> {
  const untilMs = Date.now() + forMs;
  let times = 0;
  while (Date.now() < untilMs) {
    const client = mqtt.connect(url, {
      clientId: name,
      username: name,
      password: secret,
      protocolVersion: 4,
      reconnectPeriod: 0,
    });
    client.on('error', () => undefined);
    await sleep(50);
    client.end(true);
    times += 1;
  }
  return times;
}
