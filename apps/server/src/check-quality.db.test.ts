import { DAY_MS, HOUR_MS, MINUTE_MS, type FieldNode, type LimitOverrides } from '@duskline/domain';
import type { NewPart, Store } from '@duskline/store';
import { openTestStore } from '@duskline/test-harness';
import { beforeAll, expect, it } from 'vitest';
import { prepareQualityCheck } from './check-quality.ts';
import { createTestNode } from './testing-node.ts';

/**
 * The tests of the server on its store, with limits of parts: what is expected follows from the rule that a reading is judged
 * by what was fitted when it was observed.
 */
const startMs = Date.UTC(2026, 5, 10);
const swappedMs = startMs + 6 * HOUR_MS + 30 * MINUTE_MS;
let store: Store;
beforeAll(() => openTestStore((opened) => ({ store } = opened)));

const thermometer = (node: FieldNode, serial: string, fittedAtMs: number): NewPart => ({
  siteId: node.siteId,
  kind: 'sensor',
  serial,
  maker: 'Invented Works T2',
  fittedAtMs,
  rated: {},
  notes: '',
});
const measures = (lowC: number, highC: number) => ({
  limits: { metrics: { air_temp: { failSpan: [lowC, highC] as const } } },
  setBy: 'Ines',
  setAtMs: startMs,
});

it('a late reading of the time of the old sensor is judged by its limits, one of the next by the next ones', async () => {
  const node = await createTestNode(store, 'tarn-gill', startMs - DAY_MS);
  const refresh = () => store.rollups.refresh(node.id, () => prepareQualityCheck(store, node.id));
  // Air that warms from 21 to 22 °C in twelve hours, every five minutes: it never stands still, and never jumps.
  const sampleAt = (atMs: number) => ({
    observedAtMs: atMs,
    metrics: ['air_temp' as const],
    values: [21 + (atMs - startMs) / (12 * HOUR_MS)],
    timeQuality: 'synced' as const,
  });
  const times = Array.from({ length: 144 }, (_, i) => startMs + i * 5 * MINUTE_MS);
  const isLate = (atMs: number) => Math.floor(atMs / HOUR_MS) % 2 === 1;
  const send = async (some: readonly number[], receivedAtMs: number) => {
    const samples = some.map(sampleAt);
    await store.samples.accept([{ node: node.name, lane: 'backlog', receivedAtMs, samples }]);
    await refresh();
  };
  const failed = async () => {
    const list = await store.readings.list(
      node.id,
      'air_temp',
      { fromMs: 0, toMs: startMs + 9 * DAY_MS, limit: 999 },
      { flags: [4], unsureTimes: false },
    );
    for (const { tests } of list) expect(tests).toEqual(['gross-range']);
    return list.map(({ atMs }) => atMs);
  };

  await send(
    times.filter((atMs) => !isLate(atMs)),
    startMs + DAY_MS,
  );
  expect(await failed()).toEqual([]);
  const old = await store.parts.add(thermometer(node, 'T-1', startMs + HOUR_MS));
  await store.qualityLimits.set({ kind: 'part', id: old.id }, measures(-10, 20));
  const next = await store.parts.replace(old.id, thermometer(node, 'T-2', swappedMs));
  await store.qualityLimits.set({ kind: 'part', id: next?.id ?? '' }, measures(-20, 50));
  await refresh();
  const ofOld = (atMs: number) => atMs >= startMs + HOUR_MS && atMs < swappedMs;
  expect(await failed()).toEqual(times.filter((atMs) => ofOld(atMs) && !isLate(atMs)));
  await send(times.filter(isLate), startMs + 2 * DAY_MS);
  expect(await failed()).toEqual(times.filter(ofOld));
  // The site says more strictly what nature gives: the sensor's own range is the more particular.
  await store.qualityLimits.set({ kind: 'site', name: node.siteId }, measures(0, 5));
  await refresh();
  expect(await failed()).toEqual(times.filter((atMs) => ofOld(atMs) || atMs < startMs + HOUR_MS));
});

/**
 * Definitions of the QARTOD manuals: a spike lies off the middle of its two neighbours, a rate is the change a second, and a flat
 * line varies by less than its tolerance over its time. The figures of each case are worked out by hand beside it.
 */
it.each([
  // 21, 21, 23: the middle of the neighbours of the 12th reading lies 2 below it.
  { test: 'spike', limits: { spike: { suspect: 1.5, fail: 2.5 } }, flag: 3 },
  { test: 'spike', limits: { spike: { suspect: 1, fail: 1.5 } }, flag: 4 },
  // 2 °C in five minutes are 0.4 °C a minute.
  { test: 'rate-of-change', limits: { rate: { suspectPerS: 0.3 / 60 } }, flag: 3 },
  {
    test: 'rate-of-change',
    limits: { rate: { suspectPerS: 0.2 / 60, failPerS: 0.3 / 60 } },
    flag: 4,
  },
  { test: 'gross-range', limits: { suspectSpan: [0, 22] as const }, flag: 3 },
  // Still for 55 minutes before the step.
  { test: 'flat-line', limits: { flatLine: { tolerance: 0.5, suspectS: 1800 } }, flag: 3 },
  {
    test: 'flat-line',
    limits: { flatLine: { tolerance: 0.5, suspectS: 900, failS: 1800 } },
    flag: 4,
  },
] as const)(
  'a limit of a part changes flags of the past, and taking it away changes them back: $test $flag',
  async ({ test, limits, flag }) => {
    const name = `${test}-${flag}-fold`;
    const node = await createTestNode(store, name, startMs - DAY_MS);
    const refresh = () => store.rollups.refresh(node.id, () => prepareQualityCheck(store, node.id));
    const samples = Array.from({ length: 24 }, (_, i) => ({
      observedAtMs: startMs + i * 5 * MINUTE_MS,
      metrics: ['air_temp' as const],
      values: [i === 12 ? 23 : 21],
      timeQuality: 'synced' as const,
    }));
    await store.samples.accept([
      { node: node.name, lane: 'backlog', receivedAtMs: startMs + DAY_MS, samples },
    ]);
    const part = await store.parts.add(thermometer(node, `T-${name}`, startMs - HOUR_MS));
    const set = async (metrics: NonNullable<LimitOverrides['metrics']>) => {
      const setting = { limits: { metrics }, setBy: 'Ines', setAtMs: startMs };
      await store.qualityLimits.set({ kind: 'part', id: part.id }, setting);
      await refresh();
    };
    const testsOfFlag = async () => {
      const list = await store.readings.list(
        node.id,
        'air_temp',
        { fromMs: 0, toMs: startMs + 9 * DAY_MS, limit: 999 },
        { flags: [flag], unsureTimes: false },
      );
      return new Set(list.flatMap(({ tests }) => tests));
    };
    await refresh();
    expect(await testsOfFlag()).toEqual(new Set());
    await set({ air_temp: { spike: null, rate: null, flatLine: null, ...limits } });
    expect(await testsOfFlag()).toEqual(new Set([test]));
    await set({});
    expect(await testsOfFlag()).toEqual(new Set());
  },
);
