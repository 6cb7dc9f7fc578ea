import {
  HOUR_MS,
  MINUTE_MS,
  testMask,
  type FieldNode,
  type TimedOverrides,
} from '@duskline/domain';
import { openTestStore, waitFor } from '@duskline/test-harness';
import type postgres from 'postgres';
import { beforeAll, describe, expect, it } from 'vitest';
import type { NewPart } from './part-store.ts';
import type { QualityCheck } from './quality-check.ts';
import type { Store } from './store.ts';
import { createExampleNode, exampleMessage, exampleSample } from './testing/example-fleet.ts';

/**
 * The store knows no limits: the check is the test's own, a span of battery voltage, written from the rule (a reading is
 * judged by what was fitted when it was observed). What the server makes of them is in apps/server.
 */
const checkBy = (overrides: readonly TimedOverrides[]): QualityCheck => ({
  reachMs: 0,
  gapMs: 0,
  check: (samples) =>
    samples.map((sample) => {
      const { observedAtMs: atMs, metrics, values } = sample;
      const span = overrides
        .filter(({ fromMs = -Infinity, toMs = Infinity }) => fromMs <= atMs && atMs < toMs)
        .flatMap(({ limits }) => limits.metrics?.batt_v?.failSpan ?? [])
        .slice(-2);
      const flags = metrics.map((metric, i) => {
        const value = values[i] ?? 0;
        const [low = -Infinity, high = Infinity] = span;
        return metric === 'batt_v' && (value < low || value > high) ? 4 : 1;
      });
      return { sample, flags, tests: flags.map((flag) => (flag === 4 ? testMask(['spike']) : 0)) };
    }),
});
const prepare = (node: FieldNode) => async (): Promise<QualityCheck> =>
  checkBy(await store.qualityLimits.inForce(node.id));

const firstMs = Date.UTC(2026, 5, 10, 6);
/** In the midst of an hour: its readings belong to two parts. */
const fittedMs = firstMs + 3 * HOUR_MS + 30 * MINUTE_MS;
const swappedMs = firstMs + 6 * HOUR_MS + 30 * MINUTE_MS;
const outMs = firstMs + 9 * HOUR_MS + 30 * MINUTE_MS;
const failOutside = (low: number, high: number) => ({
  limits: { metrics: { batt_v: { failSpan: [low, high] as const } } },
  setBy: 'Ines',
  setAtMs: firstMs,
});
const sensor = (node: FieldNode, serial: string, atMs: number): NewPart => ({
  siteId: node.siteId,
  kind: 'sensor',
  serial: `${node.name} ${serial}`,
  maker: 'Invented Works V2',
  fittedAtMs: atMs,
  rated: {},
  notes: '',
});

let store: Store;
let sql: postgres.Sql;
beforeAll(() => openTestStore((opened) => ({ store, sql } = opened)));

/** Twelve hours of a reading every twenty minutes, all of 14 V. */
async function fill(node: FieldNode): Promise<void> {
  const samples = Array.from({ length: 36 }, (_, i) =>
    exampleSample(firstMs + i * 20 * MINUTE_MS, { batt_v: 14 }),
  );
  await store.samples.accept([
    exampleMessage(node.name, { receivedAtMs: firstMs + 12 * HOUR_MS, samples }),
  ]);
  await store.rollups.refresh(node.id, prepare(node));
}
async function failedMinutes(node: FieldNode): Promise<number[]> {
  const failed = await store.readings.list(
    node.id,
    'batt_v',
    { fromMs: 0, toMs: firstMs + 99 * HOUR_MS, limit: 999 },
    { flags: [4], unsureTimes: false },
  );
  return failed.map(({ atMs }) => (atMs - firstMs) / MINUTE_MS);
}
async function markedHours(node: FieldNode): Promise<number[]> {
  const rows = await sql<{ hour: number }[]>`
    select extract(epoch from hour_start)::float8 * 1000 as hour from stale_hour
    where node_id = ${node.id} order by 1`;
  return rows.map(({ hour }) => (hour - firstMs) / HOUR_MS);
}
/** Every twenty minutes of [from, to) minutes. */
const minutes = (from: number, to: number): number[] =>
  Array.from({ length: 36 }, (_, i) => i * 20).filter((at) => at >= from && at < to);

describe('limits of a part', () => {
  it('stand after those of its site and node, with the time it was there', async () => {
    const node = await createExampleNode(store, 'tarn-gill');
    const later = await store.parts.add(sensor(node, 'later', swappedMs));
    const earlier = await store.parts.add(sensor(node, 'earlier', fittedMs));
    await store.qualityLimits.set({ kind: 'part', id: later.id }, failOutside(4, 5));
    await store.qualityLimits.set({ kind: 'part', id: earlier.id }, failOutside(3, 4));
    await store.qualityLimits.set({ kind: 'node', name: node.name }, failOutside(2, 3));
    await store.qualityLimits.set({ kind: 'site', name: node.siteId }, failOutside(1, 2));
    await store.parts.remove(earlier.id, outMs);
    const other = await createExampleNode(store, 'hag-end');
    expect(await store.qualityLimits.inForce(node.id)).toEqual([
      { limits: failOutside(1, 2).limits },
      { limits: failOutside(2, 3).limits },
      { limits: failOutside(3, 4).limits, fromMs: fittedMs, toMs: outMs },
      { limits: failOutside(4, 5).limits, fromMs: swappedMs },
    ]);
    expect(await store.qualityLimits.inForce(other.id)).toEqual([]);
    expect(await store.qualityLimits.find({ kind: 'part', id: earlier.id })).toEqual(
      failOutside(3, 4),
    );
  });

  it('have the hours of its life tested again, and no others', async () => {
    const node = await createExampleNode(store, 'rushy-sluice');
    await fill(node);
    const old = await store.parts.add(sensor(node, 'old', fittedMs));
    expect(await markedHours(node)).toEqual([]);
    await store.qualityLimits.set({ kind: 'part', id: old.id }, failOutside(10, 13));
    expect(await markedHours(node)).toEqual([3, 4, 5, 6, 7, 8, 9, 10, 11]);
    expect((await store.nodes.due(firstMs, 100)).includes(node.id)).toBe(true);
    await store.rollups.refresh(node.id, prepare(node));
    expect(await failedMinutes(node)).toEqual(minutes(210, 720));

    const next = await store.parts.replace(old.id, sensor(node, 'next', swappedMs));
    expect(await markedHours(node)).toEqual([6, 7, 8, 9, 10, 11]);
    await store.rollups.refresh(node.id, prepare(node));
    expect(await failedMinutes(node)).toEqual(minutes(210, 390));

    await store.qualityLimits.set({ kind: 'part', id: next?.id ?? '' }, failOutside(0, 12));
    await store.rollups.refresh(node.id, prepare(node));
    expect(await failedMinutes(node)).toEqual(minutes(210, 720));
    await store.parts.remove(next?.id ?? '', outMs);
    expect(await markedHours(node)).toEqual([9, 10, 11]);
    await store.rollups.refresh(node.id, prepare(node));
    expect(await failedMinutes(node)).toEqual(minutes(210, 570));

    // Limits set of a part that is long out: its own hours only.
    await store.qualityLimits.set({ kind: 'part', id: old.id }, failOutside(0, 99));
    expect(await markedHours(node)).toEqual([3, 4, 5, 6]);
    await store.rollups.refresh(node.id, prepare(node));
    expect(await failedMinutes(node)).toEqual(minutes(390, 570));
  });

  it('judge a late reading by the part that was there when it was observed', async () => {
    const node = await createExampleNode(store, 'long-moss');
    const old = await store.parts.add(sensor(node, 'old', fittedMs));
    await store.qualityLimits.set({ kind: 'part', id: old.id }, failOutside(10, 13));
    const next = await store.parts.replace(old.id, sensor(node, 'next', swappedMs));
    await store.qualityLimits.set({ kind: 'part', id: next?.id ?? '' }, failOutside(0, 20));
    // All of it comes after the replacement.
    await fill(node);
    expect(await failedMinutes(node)).toEqual(minutes(210, 390));
  });

  it('that a part without limits leaves behind mark nothing', async () => {
    const node = await createExampleNode(store, 'bent-moss');
    await fill(node);
    const old = await store.parts.add(sensor(node, 'old', fittedMs));
    const next = await store.parts.replace(old.id, sensor(node, 'next', swappedMs));
    await store.parts.remove(next?.id ?? '', outMs);
    expect(await markedHours(node)).toEqual([]);
  });
});

describe('limits that change while readings are tested', () => {
  it('are not missed: a look that began before them begins anew', async () => {
    const node = await createExampleNode(store, 'otter-stones');
    await fill(node);
    const scope = { kind: 'node', name: node.name } as const;
    await store.qualityLimits.set(scope, failOutside(0, 20));
    let looks = 0;
    await store.rollups.refresh(node.id, async () => {
      const before = await prepare(node)();
      if (looks++ === 0) await store.qualityLimits.set(scope, failOutside(10, 13));
      return before;
    });
    expect(await failedMinutes(node)).toEqual(minutes(0, 720));
  });

  it('nor are hours that are marked just when a look at another hour changes their flags', async () => {
    const node = await createExampleNode(store, 'crow-fold');
    await fill(node);
    const mark = (on: postgres.ISql, hour: number, version: number) => on`
      insert into stale_hour (node_id, hour_start, news_version)
      values (${node.id}, to_timestamp(${(firstMs + hour * HOUR_MS) / 1000}), ${version})`;
    await mark(sql, 3, 1);
    let looking: Promise<number> | undefined;
    await sql.begin(async (other) => {
      // What the intake does with an hour, not yet committed: the look waits for it.
      await mark(other, 4, 2);
      looking = store.rollups.refresh(node.id, () =>
        Promise.resolve({ ...checkBy([failOutside(10, 13)]), reachMs: HOUR_MS }),
      );
      await waitFor('the look to wait for the mark', async () => {
        const [row] = await other<{ count: number }[]>`
          select count(*)::int from pg_locks where not granted and pid in (
            select pid from pg_stat_activity where datname = current_database() and query like '%stale_hour%')`;
        return (row?.count ?? 0) > 0;
      });
    });
    await looking;
    expect(await failedMinutes(node)).toEqual(minutes(180, 300));
    expect(await markedHours(node)).toEqual([4]);
  });
});
