import { DAY_MS, HOUR_MS, MINUTE_MS, type MetricKey } from '@duskline/domain';
import { openTestStore } from '@duskline/test-harness';
import type postgres from 'postgres';
import { beforeAll, describe, expect, it } from 'vitest';
import type { CardBatch } from './card-import-store.ts';
import type { Store } from './store.ts';
import { createExampleNode, exampleMessage, exampleSample } from './testing/example-fleet.ts';

const startMs = Date.UTC(2026, 10, 20, 6);
const homeMs = startMs + 3 * DAY_MS;
let store: Store;
let sql: postgres.Sql;

beforeAll(() => openTestStore((opened) => ({ store, sql } = opened)));

/** The truth: what the node measured at that minute. */
const at = (minute: number, more: Partial<Record<MetricKey, number>> = {}) =>
  exampleSample(startMs + minute * MINUTE_MS, { batt_v: 12 + minute / 100, charge: 50, ...more });

async function nodeWithCard(name: string) {
  const node = await createExampleNode(store, name);
  const open = async () =>
    store.cardImports.create({
      nodeId: node.id,
      by: 'Ida',
      files: [{ name: 'log.csv', bytes: 9 }],
    });
  const first = await open();
  const batch = (rest: Partial<CardBatch>): CardBatch => ({
    importId: first.id,
    nodeId: node.id,
    samples: [],
    receivedAtMs: homeMs,
    tolerance: new Map(),
    timeStepMs: 0,
    ...rest,
  });
  return { node, first, open, batch };
}
const rowsOf = async (nodeId: number) =>
  await sql<{ readings: number; card: number; air: number }[]>`
    select sum(cardinality(values))::integer as readings,
      coalesce(sum(cardinality(values)) filter (where card_import_id is not null), 0)::integer as card,
      coalesce(sum(cardinality(values)) filter (where card_import_id is null), 0)::integer as air
    from sample where node_id = ${nodeId}`;

describe('merging a card', () => {
  it('fills what is missing, says what is here, and stores nothing the second time', async () => {
    const { node, first, open, batch } = await nodeWithCard('rushy-sluice');
    // By air: minutes 0–4 of 0–9.
    await store.samples.accept([
      exampleMessage('rushy-sluice', {
        receivedAtMs: startMs + HOUR_MS,
        samples: [0, 1, 2, 3, 4].map((m) => at(m)),
      }),
    ]);
    const samples = Array.from({ length: 10 }, (_none, minute) => at(minute));
    expect(await store.cardImports.compare(batch({ samples }))).toEqual({
      filled: 10,
      here: 10,
      conflicts: 0,
      repeated: 0,
    });
    expect(await rowsOf(node.id)).toEqual([{ readings: 10, card: 0, air: 10 }]);
    expect(await store.cardImports.merge(batch({ samples }))).toEqual({
      filled: 10,
      here: 10,
      conflicts: 0,
      repeated: 0,
    });
    expect(await rowsOf(node.id)).toEqual([{ readings: 20, card: 10, air: 10 }]);
    const again = await open();
    expect(await store.cardImports.merge(batch({ importId: again.id, samples }))).toEqual({
      filled: 0,
      here: 20,
      conflicts: 0,
      repeated: 0,
    });
    expect(await rowsOf(node.id)).toEqual([{ readings: 20, card: 10, air: 10 }]);
    expect((await store.cardImports.find(first.id))?.counts).toEqual({
      filled: 10,
      here: 10,
      conflicts: 0,
      repeated: 0,
    });
  });

  it('fills single metrics of an instant that came by air without them', async () => {
    const { node, batch } = await nodeWithCard('tarn-gill');
    await store.samples.accept([
      exampleMessage('tarn-gill', { receivedAtMs: startMs, samples: [at(0)] }),
    ]);
    const samples = [at(0, { air_temp: 4.5, rain: 0.2 })];
    expect(await store.cardImports.merge(batch({ samples }))).toMatchObject({ filled: 2, here: 2 });
    const range = { fromMs: startMs, toMs: startMs + HOUR_MS, limit: 10 };
    expect(await store.samples.raw(node.id, 'air_temp', range)).toEqual([
      { atMs: startMs, value: 4.5 },
    ]);
    expect(await store.samples.raw(node.id, 'batt_v', range)).toEqual([
      { atMs: startMs, value: 12 },
    ]);
  });

  it('keeps what came by air where the card differs, and lists both', async () => {
    const { node, first, open, batch } = await nodeWithCard('otter-stones');
    await store.samples.accept([
      exampleMessage('otter-stones', { receivedAtMs: startMs, samples: [at(0), at(1)] }),
    ]);
    const samples = [at(0, { batt_v: 13.5 }), at(1)];
    expect(await store.cardImports.merge(batch({ samples }))).toMatchObject({
      filled: 0,
      here: 3,
      conflicts: 1,
    });
    const listed = [{ metric: 'batt_v', observedAtMs: startMs, keptValue: 12, cardValue: 13.5 }];
    expect(await store.cardImports.conflicts(first.id, { limit: 10, skip: 0 })).toEqual(listed);
    const range = { fromMs: startMs, toMs: startMs + MINUTE_MS, limit: 10 };
    expect(await store.samples.raw(node.id, 'batt_v', range)).toEqual([
      { atMs: startMs, value: 12 },
    ]);
    // Brought again, it is listed once, under the import that met it last.
    const again = await open();
    await store.cardImports.merge(batch({ importId: again.id, samples }));
    expect(await store.cardImports.conflicts(again.id, { limit: 10, skip: 0 })).toEqual(listed);
    const [{ count } = { count: 0 }] = await sql<
      { count: number }[]
    >`select count(*)::integer as count from card_conflict where node_id = ${node.id}`;
    expect(count).toBe(1);
  });

  it('takes a value written with fewer digits, and a time written to the second, for the same reading', async () => {
    const { node, batch } = await nodeWithCard('long-moss');
    const air = exampleSample(startMs + 250, { batt_v: 12.8437 });
    const rounded = exampleSample(startMs + MINUTE_MS - 250, { batt_v: 12.85 });
    await store.samples.accept([
      exampleMessage('long-moss', { receivedAtMs: startMs, samples: [air, rounded] }),
    ]);
    const samples = [
      exampleSample(startMs, { batt_v: 12.84 }),
      exampleSample(startMs + MINUTE_MS, { batt_v: 12.85 }),
      exampleSample(startMs + 2 * MINUTE_MS, { batt_v: 12.86 }),
    ];
    const told = { samples, tolerance: new Map([['batt_v', 0.005] as const]), timeStepMs: 1000 };
    expect(await store.cardImports.merge(batch(told))).toEqual({
      filled: 1,
      here: 2,
      conflicts: 0,
      repeated: 0,
    });
    expect(await rowsOf(node.id)).toEqual([{ readings: 3, card: 1, air: 2 }]);
  });

  it('counts lines said twice in the file, and lists them where they differ', async () => {
    const { node, batch } = await nodeWithCard('peat-hag');
    const samples = [at(0), at(0), at(0, { batt_v: 14 }), at(0, { rain: 1 })];
    expect(await store.cardImports.merge(batch({ samples }))).toEqual({
      filled: 3,
      here: 0,
      conflicts: 1,
      repeated: 5,
    });
    expect(await rowsOf(node.id)).toEqual([{ readings: 3, card: 3, air: 0 }]);
  });

  it('marks the hours for the rollups and the node as having news, but not as heard', async () => {
    const { node, batch } = await nodeWithCard('high-cairn');
    await store.samples.accept([
      exampleMessage('high-cairn', { receivedAtMs: startMs, samples: [at(0)] }),
    ]);
    await store.rollups.refresh(node.id);
    const before = await store.nodes.facts(node.id);
    await store.cardImports.merge(batch({ samples: [at(10), at(70)] }));
    const after = await store.nodes.facts(node.id);
    expect(after.newsVersion).toBeGreaterThan(before.newsVersion);
    expect([after.lastHeardAtMs, after.lastLiveAtMs, after.lastReceivedAtMs]).toEqual([
      before.lastHeardAtMs,
      before.lastLiveAtMs,
      before.lastReceivedAtMs,
    ]);
    expect(after.lastObservedAtMs).toBe(startMs + 70 * MINUTE_MS);
    expect(await store.rollups.refresh(node.id)).toBe(2);
    const hours = await store.rollups.series(node.id, 'batt_v', {
      fromMs: startMs,
      toMs: startMs + DAY_MS,
      grain: 'hour',
    });
    expect(hours.map(({ count }) => count)).toEqual([2, 1]);
  });

  it('goes together with readings that come by air at the same moment: none twice', async () => {
    const { node, batch } = await nodeWithCard('sallow-bridge');
    const minutes = Array.from({ length: 200 }, (_none, minute) => minute);
    await Promise.all([
      ...minutes.map((minute) =>
        store.samples.accept([
          exampleMessage('sallow-bridge', {
            receivedAtMs: homeMs,
            samples: [at(minute, { rain: 0 })],
          }),
        ]),
      ),
      ...[0, 50, 100, 150].map((from) =>
        store.cardImports.merge(
          batch({ samples: minutes.slice(from, from + 50).map((minute) => at(minute)) }),
        ),
      ),
    ]);
    // What came by air first is not brought again by the card; the key of a sample keeps the air from asking first.
    const [{ doubled } = { doubled: -1 }] = await sql<{ doubled: number }[]>`
      select count(*)::integer as doubled from (
        select observed_at from sample where node_id = ${node.id} and card_import_id is not null
        group by observed_at having count(*) > 1
      ) twice`;
    expect(doubled).toBe(0);
  });

  it('gives way to what comes by air after it, and keeps what only the card has', async () => {
    const { node, first, batch } = await nodeWithCard('curlew-knott');
    const samples = [at(0, { rain: 0.2 }), at(1, { rain: 0.4 }), at(2, { rain: 0 })];
    await store.cardImports.merge(batch({ samples, timeStepMs: 1000 }));
    expect(await store.cardImports.yieldToAir(node.id)).toBe(0);
    await store.samples.accept([
      exampleMessage('curlew-knott', {
        receivedAtMs: homeMs,
        lane: 'backlog',
        samples: [
          exampleSample(startMs + 300, { batt_v: 12, charge: 50 }),
          exampleSample(startMs + MINUTE_MS, { batt_v: 13, charge: 50 }),
        ],
      }),
    ]);
    expect(await store.cardImports.yieldToAir(node.id)).toBe(2);
    expect(await store.cardImports.yieldToAir(node.id)).toBe(0);
    expect(await rowsOf(node.id)).toEqual([{ readings: 9, card: 5, air: 4 }]);
    expect(await store.cardImports.conflicts(first.id, { limit: 10, skip: 0 })).toEqual([
      { metric: 'batt_v', observedAtMs: startMs + MINUTE_MS, keptValue: 13, cardValue: 12.01 },
    ]);
    await store.rollups.refresh(node.id);
    const range = { fromMs: startMs, toMs: startMs + HOUR_MS, grain: 'hour' } as const;
    const counted = async (metric: MetricKey) =>
      (await store.rollups.series(node.id, metric, range)).map(({ count }) => count);
    expect([await counted('batt_v'), await counted('rain')]).toEqual([[3], [3]]);
  });

  it('gives way under the very same key too: air is kept, the other value listed, nothing twice', async () => {
    const { node, first, batch } = await nodeWithCard('harrow-stile');
    const minutes = [0, 1, 2].map((minute) => at(minute));
    await store.cardImports.merge(batch({ samples: minutes, timeStepMs: 1000 }));
    await store.rollups.refresh(node.id);
    const byAir = exampleMessage('harrow-stile', {
      receivedAtMs: homeMs,
      lane: 'backlog',
      place: { boot: 3, seq: 1 },
      samples: [at(0), exampleSample(startMs + MINUTE_MS, { batt_v: 13.5, charge: 50 }), at(5)],
    });
    expect(await store.samples.accept([byAir])).toMatchObject([{ kind: 'stored' }]);
    const rows = await sql`
      select extract(epoch from observed_at)::float8 * 1000 - ${startMs}::float8 as after_ms, "values"[1] as batt_v,
        card_import_id is null as by_air
      from sample where node_id = ${node.id} order by observed_at`;
    expect(rows.map((row) => [row['after_ms'], row['batt_v'], row['by_air']])).toEqual([
      [0, minutes[0]?.values[0], true],
      [MINUTE_MS, 13.5, true],
      [2 * MINUTE_MS, minutes[2]?.values[0], false],
      [5 * MINUTE_MS, at(5).values[0], true],
    ]);
    expect(await store.cardImports.conflicts(first.id, { limit: 10, skip: 0 })).toEqual([
      {
        metric: 'batt_v',
        observedAtMs: startMs + MINUTE_MS,
        keptValue: 13.5,
        cardValue: minutes[1]?.values[0],
      },
    ]);
    expect(await store.rollups.refresh(node.id)).toBe(1);
    const [hour] = await store.rollups.series(node.id, 'batt_v', {
      fromMs: startMs,
      toMs: startMs + HOUR_MS,
      grain: 'hour',
    });
    expect([hour?.count, hour?.max]).toEqual([4, 13.5]);
    // Sent again, and brought again: nothing changes.
    expect(await store.samples.accept([byAir])).toMatchObject([{ kind: 'duplicate' }]);
    await store.cardImports.merge(batch({ samples: minutes, timeStepMs: 1000 }));
    expect(await rowsOf(node.id)).toEqual([{ readings: 8, card: 2, air: 6 }]);
    expect(await store.cardImports.conflicts(first.id, { limit: 10, skip: 0 })).toHaveLength(1);
  });

  it('keeps an import in the states it may be in, and forgets one that stored nothing', async () => {
    const { first, open } = await nodeWithCard('brackwell-ford');
    const change = (state: 'storing' | 'done', from: 'open' | 'storing') =>
      store.cardImports.change(first.id, { state, from: [from], settings: { zone: 'UTC' } });
    expect(await change('done', 'storing')).toBe(false);
    expect(await change('storing', 'open')).toBe(true);
    expect(await store.cardImports.remove(first.id)).toBe(false);
    expect(await change('done', 'storing')).toBe(true);
    expect(await store.cardImports.find(first.id)).toMatchObject({
      state: 'done',
      by: 'Ida',
      siteName: 'brackwell-ford',
      settings: { zone: 'UTC' },
    });
    const other = await open();
    expect(await store.cardImports.remove(other.id)).toBe(true);
    expect(await store.cardImports.find(other.id)).toBeUndefined();
  });
});
