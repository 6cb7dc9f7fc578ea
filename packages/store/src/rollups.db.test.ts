import {
  DAY_MS,
  HOUR_MS,
  MINUTE_MS,
  type MetricKey,
  type Rollup,
  type Sample,
} from '@duskline/domain';
import { openTestStore } from '@duskline/test-harness';
import type postgres from 'postgres';
import { beforeAll, describe, expect, it } from 'vitest';
import type { Store } from './store.ts';
import {
  createExampleNode,
  exampleMessage,
  exampleSample,
  randomFrom,
  shuffled,
} from './testing/example-fleet.ts';

/** The same hours and days by a plain fold: the second way of computing them. */
function fold(samples: readonly Sample[], metric: MetricKey, startOf: (atMs: number) => number) {
  const parts = new Map<number, { atMs: number; value: number }[]>();
  for (const sample of samples) {
    const value = sample.values[sample.metrics.indexOf(metric)];
    if (value === undefined) continue;
    const startMs = startOf(sample.observedAtMs);
    parts.set(startMs, [...(parts.get(startMs) ?? []), { atMs: sample.observedAtMs, value }]);
  }
  return [...parts]
    .sort(([a], [b]) => a - b)
    .map(([startMs, readings]): Rollup => {
      const values = readings.map((reading) => reading.value);
      return {
        metric,
        startMs,
        count: values.length,
        sum: values.reduce((total, value) => total + value, 0),
        min: Math.min(...values),
        max: Math.max(...values),
        last: [...readings].sort((a, b) => a.atMs - b.atMs).at(-1)?.value ?? 0,
      };
    });
}

/** Sums of doubles depend on their order in the last places. */
const RELATIVE_TOLERANCE = 1e-12;

function expectSame(found: readonly Rollup[], wanted: readonly Rollup[]): void {
  expect(found.map(({ sum: _, ...rest }) => rest)).toEqual(
    wanted.map(({ sum: _, ...rest }) => rest),
  );
  found.forEach((rollup, index) => {
    const sum = wanted[index]?.sum ?? 0;
    expect(Math.abs(rollup.sum - sum)).toBeLessThanOrEqual(RELATIVE_TOLERANCE * Math.abs(sum));
  });
}

const hourOf = (atMs: number) => Math.floor(atMs / HOUR_MS) * HOUR_MS;
const startMs = Date.UTC(2026, 9, 30, 5);
const endMs = startMs + 5 * DAY_MS;
const range = { fromMs: startMs - 2 * DAY_MS, toMs: endMs + 2 * DAY_MS };
let store: Store;
let otherServer: Store;
let sql: postgres.Sql;

beforeAll(() =>
  openTestStore(async (opened) => {
    ({ store, sql } = opened);
    otherServer = await opened.openAnother();
  }),
);

describe('rollups', () => {
  it.each([
    { id: 'rushy-sluice', longitudeDeg: -2.4, dayBeginsAtUtcHour: 0 },
    { id: 'tarn-gill', longitudeDeg: 95, dayBeginsAtUtcHour: -6 },
    { id: 'ling-ridge', longitudeDeg: -171, dayBeginsAtUtcHour: 11 },
  ])(
    'equal a plain fold after any order of arrival, with repeats and refreshes in between ($id)',
    async ({ id, longitudeDeg, dayBeginsAtUtcHour }) => {
      const node = await createExampleNode(store, id, { longitudeDeg });
      const random = randomFrom(longitudeDeg + 1000);
      const samples = Array.from({ length: 1500 }, (_, index) => {
        const atMs = startMs + index * 4.5 * MINUTE_MS;
        return index % 7 === 0
          ? exampleSample(atMs, { batt_v: 12 + random(), rain: random() })
          : exampleSample(atMs, { batt_v: 12 + random(), panel_w: 20 * random() });
      });
      const deliveries = shuffled([...samples, ...samples.slice(0, 200)], random);
      const batches: Sample[][] = [];
      while (deliveries.length > 0) batches.push(deliveries.splice(0, 120));
      const servers = [store, otherServer];
      await Promise.all(
        batches.map(async (batch, index) => {
          const server = servers[index % 2] ?? store;
          await server.samples.accept([
            exampleMessage(id, { receivedAtMs: endMs, lane: 'backlog', samples: batch }),
          ]);
          await server.rollups.refresh(node.id);
        }),
      );
      await store.rollups.refresh(node.id);

      const dayOf = (atMs: number) => {
        const offsetMs = dayBeginsAtUtcHour * HOUR_MS;
        return Math.floor((hourOf(atMs) - offsetMs) / DAY_MS) * DAY_MS + offsetMs;
      };
      for (const metric of ['batt_v', 'panel_w', 'rain'] as const) {
        const hours = await store.rollups.series(node.id, metric, { ...range, grain: 'hour' });
        expect(hours.length).toBeGreaterThan(100);
        expectSame(hours, fold(samples, metric, hourOf));
        const days = await store.rollups.series(node.id, metric, { ...range, grain: 'day' });
        expect(days.length).toBeGreaterThan(4);
        expectSame(days, fold(samples, metric, dayOf));
      }
      const marks = await sql`select from stale_hour where node_id = ${node.id}`;
      expect(marks).toHaveLength(0);
    },
  );

  it('refreshes only the hours that changed, and nothing the second time', async () => {
    const node = await createExampleNode(store, 'otter-stones');
    const send = (atMs: number) =>
      store.samples.accept([
        exampleMessage('otter-stones', {
          receivedAtMs: atMs,
          samples: [exampleSample(atMs, { batt_v: 12 })],
        }),
      ]);
    await send(startMs);
    await send(startMs + 3 * HOUR_MS);
    expect(await store.rollups.refresh(node.id)).toBe(2);
    expect(await store.rollups.refresh(node.id)).toBe(0);
    await send(startMs + 3 * HOUR_MS + MINUTE_MS);
    expect(await store.rollups.refresh(node.id)).toBe(1);
  });

  it('are never overwritten by a computation that was made from earlier news', async () => {
    const node = await createExampleNode(store, 'long-moss');
    await store.samples.accept([
      exampleMessage('long-moss', {
        receivedAtMs: startMs,
        samples: [exampleSample(startMs, { batt_v: 12 })],
      }),
    ]);
    await store.rollups.refresh(node.id);
    // What a slow server would write that had read the mark before the news above.
    await sql`
      insert into stale_hour (node_id, hour_start, news_version)
      select node_id, hour_start, news_version - 1 from rollup_hour where node_id = ${node.id}`;
    await sql`update rollup_hour set count = 77 where node_id = ${node.id}`;
    await store.rollups.refresh(node.id);
    const [hour] = await store.rollups.series(node.id, 'batt_v', { ...range, grain: 'hour' });
    expect(hour?.count).toBe(77);
  });
});

describe('the hourly past of a node', () => {
  it('is aligned, null where nothing was read, and makes power of voltage and current where it must', async () => {
    const node = await createExampleNode(store, 'brackwell-ford');
    await store.samples.accept([
      exampleMessage('brackwell-ford', {
        receivedAtMs: startMs,
        samples: [
          exampleSample(startMs, {
            panel_v: 18,
            panel_i: 0.5,
            load_w: 2,
            charge: 40,
            batt_i: -0.1,
          }),
          exampleSample(startMs + MINUTE_MS, {
            panel_v: 18,
            panel_i: 0.7,
            load_w: 4,
            charge: 60,
            batt_i: 0.3,
          }),
          exampleSample(startMs + 2 * HOUR_MS, {
            panel_w: 7,
            panel_v: 18,
            panel_i: 9,
            air_temp: -3,
          }),
        ],
      }),
    ]);
    await store.rollups.refresh(node.id);
    const past = await store.rollups.hourly(node.id, startMs + 5, startMs + 3 * HOUR_MS + 1);
    expect(past.startMs).toBe(startMs);
    expect(past.panelW[0]).toBeCloseTo(18 * 0.6, 9);
    expect(past.panelW.slice(1)).toEqual([null, 7, null]);
    expect(past.loadW).toEqual([3, null, null, null]);
    expect(past.chargeRatio).toEqual([0.5, null, null, null]);
    expect(past.batteryA[0]).toBeCloseTo(0.1, 9);
    expect(past.batteryV).toEqual([null, null, null, null]);
    expect(past.airC).toEqual([null, null, -3, null]);
  });
});
