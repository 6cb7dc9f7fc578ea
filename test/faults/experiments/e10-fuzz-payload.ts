import { DAY_MS } from '@duskline/domain';
import { topicFor } from '@duskline/wire';
import { waitFor } from '@duskline/test-harness';
import { judge, type Experiment } from '../experiment.ts';
import { badPayload } from '../generator/bad-payloads.ts';
import { plainClient } from '../generator/plain-client.ts';
import { seededChance } from '../generator/seeded-chance.ts';
import { intact, openStand, settle } from '../stand.ts';
import { percentile, seconds } from './figures.ts';

const GOOD = [0, 1];
const BAD = [2, 3];
/** A million bad messages: the second half may take this much more memory than the first. */
const GROWTH_MB = 50;
/** The short profile is over before the heap has found its size: there the bound is on all of it. */
const MOST_RSS_MB = 450;

/** Rubbish of two nodes, one for one beside good readings of two others: each bad message is noted, no good one suffers. */
export const fuzzPayload: Experiment = {
  id: 'E10',
  name: 'fuzz-payload',
  place: 'alone',
  brokers: ['embedded', 'mosquitto'],
  async run(lab, broker) {
    const bad = lab.full ? 1_000_000 : 10_000;
    const stand = await openStand(lab, { broker, nodes: GOOD.length + BAD.length });
    await stand.server.start();
    const startMs = Math.floor(Date.now() / 1000) * 1000 - 20 * DAY_MS;
    const nodes = stand.startNodes(
      () => [
        {
          boot: 1,
          lane: 'live',
          startMs,
          stepMs: 1000,
          perMessage: 1,
          ready: bad / GOOD.length,
          window: 20,
        },
        {
          boot: 2,
          lane: 'live',
          startMs: startMs - 15 * DAY_MS,
          stepMs: 1000,
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
    await Promise.all(
      BAD.map(async (index) => {
        const chance = seededChance(lab.seed + index);
        const { name, secret } = stand.nodes[index] ?? { name: '' as never, secret: '' };
        const client = plainClient({ url: stand.mqttUrl, node: name, secret, inFlight: 20 });
        lab.undo(() => client.close());
        await client.publishAll(bad / BAD.length, () => {
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
    const growth = rssMb - rssAtHalf;
    return judge(
      {
        bad,
        kinds: kinds.size,
        ...verdict,
        quarantinedBad,
        storedOfBad: stray?.count ?? Number.NaN,
        exits,
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
          what: `good readings beside it waited ${seconds(p99)} s (p99)`,
          isPace: true,
          reached: p99 <= 1000,
        },
      ],
    );
  },
};
