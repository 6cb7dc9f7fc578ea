import { createTestDatabase, type TestDatabase } from '@duskline/test-harness';
import { openStore } from '@duskline/store';
import { parseNodeName, type MetricKey, type NodeName } from '@duskline/domain';
import { hashSecret } from '@duskline/broker';
import postgres, { type Sql } from 'postgres';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { fewMetrics, timesIn, truth, type StreamPlan } from '../generator/truth.ts';
import { compareWithTruth } from './compare-with-truth.ts';

// The judge of all experiments must itself be able to say no: each kind of harm is done to a healthy store by hand.

const seed = 7;
const plan: StreamPlan = {
  boot: 1,
  lane: 'live',
  startMs: Date.UTC(2026, 10, 1),
  stepMs: 1000,
  perMessage: 2,
  ready: 5,
};
const name = parseNodeName('peat-hag-0') as NodeName;
let database: TestDatabase;
let sql: Sql;
let id: number;

beforeAll(async () => {
  database = await createTestDatabase();
  sql = postgres(database.url, { max: 1, onnotice: () => undefined });
  const store = await openStore({ url: database.url });
  const site = await store.sites.create({
    id: 'peat-hag' as never,
    name: 'Peat Hag',
    position: { latitudeDeg: 54.9, longitudeDeg: -2.9, elevationM: 400 },
    timeZone: 'Europe/London',
    access: '',
    hazards: '',
  });
  const power = {
    panel: { ratedW: 20, tiltDeg: 65, azimuthDeg: 180 },
    battery: { chemistry: 'lifepo4', ratedWh: 150, seriesCells: 4 },
    charger: 'mppt',
    shutDownRatio: 0.1,
    restartRatio: 0.5,
    offStateDrawW: 0.1,
    usualGapS: 30,
  } as const;
  const node = await store.nodes.create(
    { name, siteId: site.id, commissionedAtMs: Date.now(), power },
    hashSecret('x'),
  );
  id = node.id;
  await store.samples.accept(
    [1, 2, 3, 4].map((seq) => ({
      node: name,
      lane: 'live' as const,
      receivedAtMs: Date.now(),
      place: { boot: 1, seq },
      samples: timesIn(plan, seq).map((observedAtMs) => ({
        observedAtMs,
        metrics: fewMetrics,
        values: fewMetrics.map((_, metric) => truth({ seed, node: 0 }, metric, observedAtMs)),
        timeQuality: 'synced' as const,
      })),
    })),
  );
  await store.close();
});
afterAll(async () => {
  await sql.end();
  await database.drop();
});

const check = (told: number, metrics: readonly MetricKey[] = fewMetrics) =>
  compareWithTruth(sql, seed, [
    {
      id,
      index: 0,
      metrics,
      streams: [{ plan, published: () => plan.ready, isAcknowledged: (seq) => seq <= told }],
    },
  ]);
const also = (startMs: number) =>
  compareWithTruth(sql, seed, [
    {
      id,
      index: 0,
      metrics: fewMetrics,
      streams: [plan, { ...plan, boot: 2, startMs }].map((each) => ({
        plan: each,
        published: () => each.ready,
        isAcknowledged: () => false,
      })),
    },
  ]);
/** Does harm, looks, and undoes it. */
async function after(harm: (trx: Sql) => Promise<unknown>) {
  await sql`begin`;
  await harm(sql);
  const verdict = await check(4);
  await sql`rollback`;
  return verdict;
}

it('finds nothing wrong where nothing is', async () => {
  expect(await check(4)).toEqual({
    published: 10,
    acknowledged: 8,
    stored: 8,
    quarantined: 0,
    lost: 0,
    doubled: 0,
    phantom: 0,
    ahead: 0,
  });
});

it('finds what was acknowledged and is not there', async () => {
  expect((await check(5)).lost).toBe(2);
  const verdict = await after(
    (trx) => trx`delete from sample where observed_at = to_timestamp(${plan.startMs / 1000})`,
  );
  expect(verdict).toMatchObject({ lost: 1, ahead: 1 });
});

it('finds a second row for one time', async () => {
  const doubled = await after(async (trx) => {
    await trx`insert into layout (id, metric_ids) select 4711, metric_ids[1:1] from layout limit 1`;
    await trx`insert into sample (node_id, observed_at, layout_id, received_at, "values")
      select node_id, observed_at, 4711, received_at, "values"[1:1] from sample limit 1`;
  });
  expect(doubled).toMatchObject({ doubled: 1, phantom: 1 });
});

it('finds values that nobody published', async () => {
  const changed = await after(
    (trx) =>
      trx`update sample set "values"[2] = 99 where observed_at = to_timestamp(${plan.startMs / 1000})`,
  );
  expect(changed).toMatchObject({ phantom: 1, lost: 0 });
});

it('finds a watermark that runs ahead', async () => {
  const verdict = await after((trx) => trx`update boot_watermark set seqs = '{[1,8)}'`);
  expect(verdict.ahead).toBe(6);
});

it('refuses to judge where two streams of a node measured at one instant: neither would be missed', async () => {
  // Ten samples of a second each: the second stream's first is the first one's last.
  await expect(also(plan.startMs + 9000)).rejects.toThrow(
    'boots 1 and 2 of node 0 both measured at 2026-11-01T00:00:09.000Z',
  );
  await expect(also(plan.startMs + 10_000)).resolves.toMatchObject({ published: 20 });
  await expect(also(plan.startMs + 500)).resolves.toMatchObject({ published: 20 });
});
