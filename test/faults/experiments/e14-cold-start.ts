import { setTimeout as sleep } from 'node:timers/promises';
import { DAY_MS, type NodeName } from '@duskline/domain';
import { openStore } from '@duskline/store';
import { judge, type Experiment } from '../experiment.ts';
import { twelveMetrics } from '../generator/truth.ts';
import { restartablePostgres } from '../nemesis/restartable-postgres.ts';
import { openStand } from '../stand.ts';
import { percentile, seconds } from './figures.ts';

const READY_WITHIN_MS = 10_000;
const COLD_MS = 300;
const WARM_MS = 100;
const RECOVERY_MS = 60_000;

/** A server that starts over a store that is already large, after its Postgres was killed. */
export const coldStart: Experiment = {
  id: 'E14',
  name: 'cold-start',
  place: 'alone',
  async run(lab) {
    const nodes = lab.full ? 200 : 50;
    const rowsEach = lab.full ? 20_834 : 2000;
    const database = await restartablePostgres(lab);
    const stand = await openStand(lab, { broker: 'embedded', nodes, databaseUrl: database.url });
    const sql = lab.openSql(database.url);
    await makeLayout(database.url, stand.nodes[0]?.name);
    const [layout] = await sql<{ id: number; count: number }[]>`
      select id, cardinality(metric_ids) as count from layout order by cardinality(metric_ids) desc limit 1`;
    await sql`select ensure_sample_month((now() - make_interval(months => m))::date) from generate_series(0, 12) m`;
    await sql`
      insert into sample (node_id, observed_at, layout_id, received_at, "values")
      select n.id, date_trunc('minute', now()) - i * interval '15 minutes', ${layout?.id ?? 1}, now(),
        (select array_agg(20 + 10 * sin(n.id + i + m)) from generate_series(1, ${layout?.count ?? 12}) m)
      from node n, generate_series(1, ${rowsEach}) i`;
    const recoveryFromMs = Date.now();
    await database.kill9();
    const recoveryMs = Date.now() - recoveryFromMs;
    const fromMs = Date.now();
    await stand.server.start();
    const readyMs = Date.now() - fromMs;
    const look = async () => {
      const atMs = performance.now();
      const answer = await fetch(`${stand.server.httpUrl}/api/v1/fleet`, {
        headers: { authorization: `Bearer ${stand.token}` },
      });
      await answer.arrayBuffer();
      return answer.ok ? performance.now() - atMs : Number.NaN;
    };
    const coldMs = await look();
    await sleep(2000);
    const warm: number[] = [];
    for (let i = 0; i < 20; i++) warm.push(await look());
    const warmMs = percentile(warm, 0.5);
    const readings = nodes * rowsEach * (layout?.count ?? 12);
    return judge(
      {
        readings,
        nodes,
        recoveryS: seconds(recoveryMs),
        readyS: seconds(readyMs),
        coldMs: Math.round(coldMs),
        warmMs: Math.round(warmMs),
      },
      [
        {
          what: `ready after ${seconds(readyMs)} s`,
          isPace: true,
          reached: readyMs <= READY_WITHIN_MS,
        },
        { what: `first look ${Math.round(coldMs)} ms`, isPace: true, reached: coldMs <= COLD_MS },
        { what: `later looks ${Math.round(warmMs)} ms`, isPace: true, reached: warmMs <= WARM_MS },
        {
          what: `recovery ${seconds(recoveryMs)} s`,
          isPace: true,
          reached: recoveryMs <= RECOVERY_MS,
        },
        { what: 'there were no readings', reached: readings >= 1_000_000 },
      ],
    );
  },
};

/** One sample by the usual way, so that the store knows twelve metrics and their layout. */
async function makeLayout(url: string, node: NodeName | undefined): Promise<void> {
  if (node === undefined) throw new Error('there is no node');
  const store = await openStore({ url });
  try {
    const metrics = [...twelveMetrics].sort();
    const observedAtMs = Date.now() - DAY_MS;
    const values = metrics.map(() => 20);
    await store.samples.accept([
      {
        node,
        lane: 'live',
        receivedAtMs: Date.now(),
        samples: [{ observedAtMs, metrics, values, timeQuality: 'synced' }],
      },
    ]);
  } finally {
    await store.close();
  }
}
