import { setTimeout as sleep } from 'node:timers/promises';
import { waitFor } from '@duskline/test-harness';
import { encodeMessage, topicFor } from '@duskline/wire';
import { judge, type Experiment } from '../experiment.ts';
import { plainClient } from '../generator/plain-client.ts';
import { timesIn, truth, twelveMetrics, type StreamPlan } from '../generator/truth.ts';
import { restartablePostgres } from '../nemesis/restartable-postgres.ts';
import { MEASURED_EVERY_MS, openStand, PAST_MS, type Stand } from '../stand.ts';
import { compareWithTruth } from '../checker/compare-with-truth.ts';
import type { Lab } from '../lab.ts';
import { seconds } from './figures.ts';

const NODES = 4;
const TIMES = 10;
const PER_MESSAGE = 60;

/** Every message ten times, shuffled; the nine that say nothing new are to cost next to nothing. */
export const dupStorm: Experiment = {
  id: 'E9',
  name: 'dup-storm',
  brokers: ['embedded', 'mosquitto'],
  async run(lab, broker) {
    const messages = lab.full ? 1200 : 120;
    // The log of changes is one for a whole server: on a shared one it would tell of the experiment next door too.
    const { url: databaseUrl } = await restartablePostgres(lab);
    const stand = await openStand(lab, { broker, nodes: NODES, databaseUrl });
    await stand.server.start();
    const startMs = Math.floor(Date.now() / 1000) * 1000 - PAST_MS;
    const plan: StreamPlan = {
      boot: 1,
      lane: 'backlog',
      startMs,
      stepMs: MEASURED_EVERY_MS,
      perMessage: PER_MESSAGE,
      ready: messages,
    };
    const once = Array.from({ length: messages }, (_, i) => i + 1);
    await sendAll(stand, lab, plan, once);
    const sql = lab.openSql(stand.databaseUrl);
    await stored(sql, NODES * messages * PER_MESSAGE);
    await followedUp(sql);
    const before = await sizes(sql);
    const fromMs = Date.now();
    const again = shuffle(Array.from({ length: TIMES - 1 }, () => once).flat(), lab.chance);
    await sendAll(stand, lab, plan, again);
    const tookMs = Date.now() - fromMs;
    // With Mosquitto the PUBACK comes before the server has them: it is done when all were taken from the broker.
    await sleep(2000);
    const after = await sizes(sql);
    await stand.server.stop();
    const published = () => messages;
    const verdict = await compareWithTruth(
      sql,
      lab.seed,
      stand.nodes.map(({ id }, index) => ({
        id,
        index,
        metrics: twelveMetrics,
        streams: [{ plan, published, isAcknowledged: () => true }],
      })),
    );
    const duplicates = NODES * again.length * PER_MESSAGE * twelveMetrics.length;
    const walBytesEach = Number(((after.wal - before.wal) / duplicates).toFixed(3));
    const growth = (after.table - before.table) / before.table;
    const perS = Math.round(duplicates / (tookMs / 1000));
    return judge(
      {
        duplicates,
        ...verdict,
        walBytesEach,
        growthPct: Number((growth * 100).toFixed(2)),
        duplicatesPerS: perS,
        tookS: seconds(tookMs),
      },
      [
        { what: `${verdict.lost} lost`, reached: verdict.lost === 0 },
        {
          what: `${verdict.doubled} doubled, ${verdict.phantom} phantom`,
          reached: verdict.doubled + verdict.phantom === 0,
        },
        {
          what: `${verdict.stored} rows for ${verdict.published} samples`,
          reached: verdict.stored === verdict.published,
        },
        { what: `${walBytesEach} bytes of WAL for a duplicate`, reached: walBytesEach <= 2 },
        { what: `the table grew by ${growth * 100} %`, reached: growth <= 0.01 },
        { what: `${perS} duplicate readings/s`, isPace: true, reached: perS >= 30_000 },
      ],
    );
  },
};

async function sendAll(
  stand: Stand,
  lab: Lab,
  plan: StreamPlan,
  seqs: readonly number[],
): Promise<void> {
  await Promise.all(
    stand.nodes.map(async ({ name, secret }, index) => {
      const client = plainClient({ url: stand.mqttUrl, node: name, secret, inFlight: 12 });
      await client.publishAll(seqs.length, (i) => {
        const seq = seqs[i] ?? 1;
        const samples = timesIn(plan, seq).map((observedAtMs) => ({
          observedAtMs,
          metrics: twelveMetrics,
          values: twelveMetrics.map((_, metric) =>
            truth({ seed: lab.seed, node: index }, metric, observedAtMs),
          ),
        }));
        const payload = Buffer.from(
          encodeMessage({ node: name, place: { boot: plan.boot, seq }, samples }),
        );
        return { topic: topicFor(name, plan.lane), payload };
      });
      await client.close();
    }),
  );
}

type Sql = ReturnType<Lab['openSql']>;

async function stored(sql: Sql, rows: number): Promise<void> {
  for (let look = 0; look < 240; look++) {
    const [row] = await sql<{ count: number }[]>`select count(*)::float8 as count from sample`;
    if ((row?.count ?? 0) >= rows) return;
    await sleep(500);
  }
  throw new Error(`${rows} rows did not come about`);
}

/** Flags and rollups of what came are written behind it, and are no cost of a duplicate. */
async function followedUp(sql: Sql): Promise<void> {
  const isQuiet = async (): Promise<boolean> => {
    const [row] = await sql<{ stale: number }[]>`select count(*)::int as stale from stale_hour`;
    return row?.stale === 0;
  };
  await waitFor('what follows from the samples', isQuiet, { withinMs: 120_000, everyMs: 500 });
  await sleep(3000);
}

async function sizes(sql: Sql): Promise<{ readonly wal: number; readonly table: number }> {
  const [row] = await sql<{ wal: number; table: number }[]>`
    select (pg_current_wal_insert_lsn() - '0/0')::float8 as wal,
      (select sum(pg_total_relation_size(inhrelid))::float8 from pg_inherits where inhparent = 'sample'::regclass) as "table"`;
  return row ?? { wal: Number.NaN, table: Number.NaN };
}

function shuffle(list: readonly number[], chance: () => number): readonly number[] {
  const mixed = [...list];
  for (let i = mixed.length - 1; i > 0; i--) {
    const other = Math.floor(chance() * (i + 1));
    [mixed[i], mixed[other]] = [mixed[other] ?? 0, mixed[i] ?? 0];
  }
  return mixed;
}
