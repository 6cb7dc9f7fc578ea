import { testsOfMask, type TimedOverrides } from '@duskline/domain';
import { describe, expect, it } from 'vitest';
import { assessSamples } from './assess-samples.ts';
import type { QualitySample } from './assessed-sample.ts';
import { limitsOverTime } from './limits-over-time.ts';

/**
 * Limits of parts by the time they were fitted. What is expected follows from the rule alone: a reading is judged by the
 * limits of the part that was at the site when it was observed.
 */
const MINUTE = 60_000;
const fittedMs = Date.UTC(2026, 5, 10, 10);
const swappedMs = fittedMs + 60 * MINUTE;
const failOutside = (low: number, high: number): TimedOverrides['limits'] => ({
  metrics: { batt_v: { failSpan: [low, high] } },
});
const surroundings = { usualGapS: 60, sunElevationDeg: () => 50, clearSkyWPerM2: () => 800 };
const volts = (atMs: number, value: number): QualitySample => ({
  observedAtMs: atMs,
  receivedAtMs: atMs + 1000,
  layoutId: 1,
  metrics: ['batt_v'],
  values: [value],
  timeQuality: 'synced',
});
const flags = (overrides: readonly TimedOverrides[], samples: readonly QualitySample[]) =>
  assessSamples(samples, limitsOverTime(overrides), surroundings).map((one) => one.flags[0]);

describe('limits over time', () => {
  const site: TimedOverrides = { limits: failOutside(0, 30) };
  const node: TimedOverrides = { limits: failOutside(0, 20) };
  const old: TimedOverrides = {
    limits: failOutside(10, 13),
    fromMs: fittedMs,
    toMs: swappedMs,
  };
  const next: TimedOverrides = { limits: failOutside(11, 16), fromMs: swappedMs };

  it('without a part are one era, of the defaults, the site, the node', () => {
    expect(limitsOverTime([]).eras).toHaveLength(1);
    const { eras } = limitsOverTime([site, node]);
    expect(eras.map(({ fromMs, toMs }) => [fromMs, toMs])).toEqual([[-Infinity, Infinity]]);
    expect(eras[0]?.limits.of('batt_v').failSpan).toEqual([0, 20]);
  });

  it('are those of the part from when it was fitted until it was taken out, over site and node', () => {
    const limits = limitsOverTime([site, node, old, next]);
    const span = (atMs: number) => limits.at(atMs).of('batt_v').failSpan;
    expect(span(fittedMs - 1)).toEqual([0, 20]);
    expect(span(fittedMs)).toEqual([10, 13]);
    expect(span(swappedMs - 1)).toEqual([10, 13]);
    expect(span(swappedMs)).toEqual([11, 16]);
    expect(span(swappedMs + 1e12)).toEqual([11, 16]);
    // What the part says nothing of stays as it was.
    expect(limits.at(fittedMs).of('batt_v').spike).toEqual({ suspect: 0.5 });
  });

  it('of two parts at one time are those of the later, and of the earlier again when it is gone', () => {
    const early: TimedOverrides = { limits: failOutside(1, 2), fromMs: fittedMs };
    const late: TimedOverrides = {
      limits: failOutside(3, 4),
      fromMs: fittedMs + MINUTE,
      toMs: swappedMs,
    };
    const span = (atMs: number) => limitsOverTime([early, late]).at(atMs).of('batt_v').failSpan;
    expect([fittedMs, fittedMs + MINUTE, swappedMs - 1, swappedMs].map(span)).toEqual([
      [1, 2],
      [3, 4],
      [3, 4],
      [1, 2],
    ]);
  });

  it('of a part that was taken out at once hold for nothing', () => {
    const never = { ...old, toMs: fittedMs };
    expect(limitsOverTime([never]).eras.every(({ fromMs, toMs }) => fromMs < toMs)).toBe(true);
    expect(limitsOverTime([never]).at(fittedMs).of('batt_v').failSpan).not.toEqual([10, 13]);
  });

  it('reach back as far as the furthest of any time', () => {
    const still = { tolerance: 0.1, suspectS: 80_000 };
    const long: TimedOverrides = { ...old, limits: { metrics: { batt_v: { flatLine: still } } } };
    expect(limitsOverTime([long]).reachS).toBe(80_000);
  });

  it('judge each reading by those of its own time', () => {
    const samples = [fittedMs - MINUTE, fittedMs, swappedMs - MINUTE, swappedMs].map((atMs) =>
      volts(atMs, 14),
    );
    expect(flags([site, node, old, next], samples)).toEqual([1, 4, 4, 1]);
  });
});

describe('a test that looks back over the border', () => {
  const noSpike = { spike: null };
  const untested = (limits: object): TimedOverrides['limits'] => ({ metrics: { batt_v: limits } });

  it('judges by the limits of the reading that is judged: spike', () => {
    const wide: TimedOverrides = {
      limits: untested({ spike: { suspect: 5 }, flatLine: null }),
      toMs: swappedMs,
      fromMs: fittedMs,
    };
    const narrow: TimedOverrides = {
      limits: untested({ spike: { suspect: 0.1 }, flatLine: null }),
      fromMs: swappedMs,
    };
    // 1 V over the middle of its neighbours, last of the old part, then first of the new one.
    const around = (atMs: number) =>
      [-2, -1, 0, 1, 2].map((step) => volts(atMs + step * MINUTE, step === 0 ? 13 : 12));
    expect(flags([wide, narrow], around(swappedMs - MINUTE))[2]).toBe(1);
    expect(flags([wide, narrow], around(swappedMs))[2]).toBe(3);
    // The neighbour of the peak, half a volt off, is the old part's in the second.
    expect(flags([wide, narrow], around(swappedMs))[1]).toBe(1);
    expect(flags([wide, narrow], around(swappedMs))[3]).toBe(3);
  });

  it('judges by the limits of the reading that is judged: flat line', () => {
    const still: TimedOverrides = {
      limits: untested({ ...noSpike, flatLine: { tolerance: 0.1, suspectS: 600 } }),
      fromMs: swappedMs,
    };
    const before: TimedOverrides = {
      limits: untested({ ...noSpike, flatLine: null }),
      fromMs: fittedMs,
      toMs: swappedMs,
    };
    const samples = Array.from({ length: 40 }, (_, i) => volts(swappedMs + (i - 20) * MINUTE, 12));
    const tests = assessSamples(samples, limitsOverTime([before, still]), surroundings).map((one) =>
      testsOfMask(one.tests[0] ?? 0),
    );
    // The window of the first reading of the new part lies wholly before it, and was still.
    expect(tests.map((of) => of.includes('flat-line'))).toEqual(samples.map((_, i) => i >= 20));
  });

  it('holds readings against each other by the limits of their time', () => {
    const lenient: TimedOverrides = {
      limits: { cross: { panelVAtNight: 20 } },
      fromMs: fittedMs,
      toMs: swappedMs,
    };
    const night = { ...surroundings, sunElevationDeg: () => -20 };
    const samples = [swappedMs - MINUTE, swappedMs].map((atMs): QualitySample => ({
      ...volts(atMs, 12),
      metrics: ['panel_v'],
    }));
    const assessed = assessSamples(samples, limitsOverTime([lenient]), night);
    expect(assessed.map((one) => testsOfMask(one.tests[0] ?? 0))).toEqual([
      [],
      ['panel-voltage-at-night'],
    ]);
  });
});
