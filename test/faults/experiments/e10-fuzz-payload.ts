import { setTimeout as sleep } from 'node:timers/promises';
import { DAY_MS, parseNodeName, type NodeName } from '@duskline/domain';
import { decodeMessage, encodeMessage, topicFor } from '@duskline/wire';
import { waitFor } from '@duskline/test-harness';
import { inflate } from '../../../apps/server/src/inflate.ts';
import { judge, type Experiment } from '../experiment.ts';
import { badPayload } from '../generator/bad-payloads.ts';
import { plainClient } from '../generator/plain-client.ts';
import { seededChance } from '../generator/seeded-chance.ts';
import { intact, MEASURED_EVERY_MS, openStand, PAST_MS, settle } from '../stand.ts';
import { percentile, seconds } from './figures.ts';

const GOOD = [0, 1, 2, 3];
const BAD = [4, 5];
const IN_FLIGHT = 100;
/** Mosquitto takes what it is given at once: without waiting for the good ones the bad ones would stand before all of them. */
const BAD_AHEAD = 2 * IN_FLIGHT;
/** Of the step that reads bytes, by itself on one core: what comes before and after it is the intake's rate. */
const STAGE_PER_S = 5000;
/** A million bad messages: the second half may take this much more memory than the first. */
const GROWTH_MB = 50;
/** The short profile is over before the heap has found its size: there the bound is on all of it. */
const MOST_RSS_MB = 450;

const MIX_WITHIN_MS = 3_600_000;

/** Rubbish of two nodes, one for one beside good readings of four others: each bad message is noted, no good one suffers. */
export const fuzzPayload: Experiment = {
  id: 'E10',
  name: 'fuzz-payload',
  place: 'alone',
  brokers: ['embedded', 'mosquitto'],
  async run(lab, broker) {
    // The short profile's tenth, half of it behind each broker.
    const bad = lab.full ? 1_000_000 : 50_000;
    const stand = await openStand(lab, { broker, nodes: GOOD.length + BAD.length });
    await stand.server.start();
    const startMs = Math.floor(Date.now() / 1000) * 1000 - PAST_MS;
    const nodes = stand.startNodes(
      () => [
        {
          boot: 1,
          lane: 'live',
          startMs,
          stepMs: MEASURED_EVERY_MS,
          perMessage: 1,
          ready: bad / GOOD.length,
          window: IN_FLIGHT,
        },
        {
          boot: 2,
          lane: 'live',
          startMs: startMs - 15 * DAY_MS,
          stepMs: MEASURED_EVERY_MS,
          perMessage: 1,
          ready: 0,
          everyMs: 100,
        },
      ],
      { only: GOOD },
    );
    const fromMs = Date.now();
    const kinds = new Map<string, number>();
    let [sent, rssAtHalf, rssMb] = [0, 0, 0];
    const goodTold = () =>
      nodes.reduce((sum, { streams }) => sum + (streams[0]?.acknowledgedCount() ?? 0), 0);
    const isTooFar = () => sent > goodTold() + BAD_AHEAD && Date.now() < fromMs + MIX_WITHIN_MS;
    await Promise.all(
      BAD.map(async (index) => {
        const chance = seededChance(lab.seed + index);
        const { name, secret } = stand.nodes[index] ?? { name: '' as never, secret: '' };
        const client = plainClient({
          url: stand.mqttUrl,
          node: name,
          secret,
          inFlight: IN_FLIGHT,
        });
        lab.undo(() => client.close());
        await client.publishAll(bad / BAD.length, async () => {
          while (isTooFar()) await sleep(2);
          const { kind, payload } = badPayload(chance);
          kinds.set(kind, (kinds.get(kind) ?? 0) + 1);
          if (++sent % 250 === 0) {
            rssMb = Math.max(rssMb, stand.server.rssMb());
            if (sent <= bad / 2) rssAtHalf = rssMb;
          }
          return { topic: topicFor(name, chance() < 0.5 ? 'live' : 'backlog'), payload };
        });
      }),
    );
    const tookMs = Date.now() - fromMs;
    const settled = await settle(nodes, 120_000);
    const sql = lab.openSql(stand.databaseUrl);
    const names = BAD.map((index) => stand.nodes[index]?.name ?? '');
    const noted = async () => {
      const [row] = await sql<{ received: number }[]>`
        select coalesce(sum(received), 0)::float8 as received from quarantine_day where node in ${sql(names)}`;
      return row?.received ?? 0;
    };
    await waitFor('the quarantine to have them all', async () => (await noted()) >= bad, {
      withinMs: 30_000,
      everyMs: 250,
    }).catch(() => undefined);
    const quarantinedBad = await noted();
    const exits = stand.server.exits();
    const lags = nodes.flatMap(({ streams }) => streams[1]?.lagsMs ?? []);
    const verdict = await stand.check(nodes);
    const [stray] = await sql<{ count: number }[]>`
      select count(*)::float8 as count from sample s join node n on n.id = s.node_id where n.name in ${sql(names)}`;
    const p99 = percentile(lags, 0.99);
    const stagePerS = stageRate(lab.seed);
    const growth = rssMb - rssAtHalf;
    return judge(
      {
        bad,
        kinds: kinds.size,
        ...verdict,
        quarantinedBad,
        storedOfBad: stray?.count ?? Number.NaN,
        exits,
        stagePerS,
        messagesPerS: Math.round((2 * bad) / (tookMs / 1000)),
        goodLagP99S: seconds(p99),
        growthMb: growth,
        rssMb,
      },
      [
        ...intact(verdict, settled),
        { what: `the server ended ${exits} times`, reached: exits === 0 },
        {
          what: `${quarantinedBad} of ${bad} bad messages were noted`,
          reached: quarantinedBad === bad,
        },
        { what: `${stray?.count} readings came out of rubbish`, reached: stray?.count === 0 },
        {
          what: `memory grew by ${growth} MB to ${rssMb}`,
          reached: rssMb <= MOST_RSS_MB && (!lab.full || growth <= GROWTH_MB),
        },
        {
          what: `the step that reads them takes ${stagePerS} a second`,
          isPace: true,
          reached: stagePerS >= STAGE_PER_S,
        },
        {
          what: `good readings beside it waited ${seconds(p99)} s (p99)`,
          isPace: true,
          reached: p99 <= 1000,
        },
      ],
    );
  },
};

/** Good and bad messages one for one through the step of the intake that reads bytes: messages a second. */
function stageRate(seed: number): number {
  const node = parseNodeName('stage') as NodeName;
  const topic = topicFor(node, 'live');
  const good = encodeMessage({
    node,
    samples: [{ observedAtMs: Date.now(), metrics: ['batt_v', 'charge'], values: [12.5, 60] }],
  });
  const chance = seededChance(seed);
  const payloads = Array.from({ length: 5000 }, () => [good, badPayload(chance).payload]).flat();
  const fromMs = performance.now();
  for (const payload of payloads) decodeMessage({ topic, payload, receivedAtMs: 0 }, { inflate });
  return Math.round(payloads.length / ((performance.now() - fromMs) / 1000));
}
