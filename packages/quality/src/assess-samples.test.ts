import { testMask, testsOfMask, type MetricKey, type TimeQuality } from '@duskline/domain';
import { describe, expect, it } from 'vitest';
import { assessSamples } from './assess-samples.ts';
import type { QualitySample } from './assessed-sample.ts';
import { limitsInForce } from './limits-in-force.ts';
import { limitsOverTime } from './limits-over-time.ts';
import type { Surroundings } from './surroundings.ts';

const noonMs = Date.UTC(2026, 5, 10, 12);
const nightMs = Date.UTC(2026, 5, 11, 0);
const MINUTE = 60_000;
/** An invented sun: 50° and 800 W/m² by day (06–18 UTC), 20° below by night. */
const isDay = (atMs: number) => Math.abs(((atMs / 3_600_000) % 24) - 12) < 6;
const surroundings: Surroundings = {
  usualGapS: 60,
  sunElevationDeg: (atMs) => (isDay(atMs) ? 50 : -20),
  clearSkyWPerM2: (atMs) => (isDay(atMs) ? 800 : 0),
};
const sample = (
  observedAtMs: number,
  readings: Partial<Record<MetricKey, number>>,
  timeQuality: TimeQuality = 'synced',
): QualitySample => ({
  observedAtMs,
  receivedAtMs: observedAtMs + 1000,
  layoutId: 1,
  metrics: Object.keys(readings) as MetricKey[],
  values: Object.values(readings),
  timeQuality,
});
const assess = (samples: readonly QualitySample[], limits = limitsOverTime([])) =>
  assessSamples(samples, limits, surroundings);
const verdict = (readings: Partial<Record<MetricKey, number>>, atMs = noonMs) => {
  const [one] = assess([sample(atMs, readings)]);
  return one?.sample.metrics.flatMap((metric, i) =>
    testsOfMask(one.tests[i] ?? 0).map((test) => `${metric} ${one.flags[i]} ${test}`),
  );
};
const flagsOf = (
  metric: MetricKey,
  values: readonly number[],
  options: { stepMs?: number; fromMs?: number; beside?: Partial<Record<MetricKey, number>> } = {},
) => {
  const { stepMs = MINUTE, fromMs = noonMs, beside = {} } = options;
  return assess(
    values.map((value, i) => sample(fromMs + i * stepMs, { [metric]: value, ...beside })),
  ).map(({ flags }) => flags[0]);
};

describe('one sample', () => {
  it('passes when nothing is wrong with it', () => {
    expect(verdict({ panel_w: 12, panel_v: 18, panel_i: 0.7, air_temp: 14, rel_hum: 60 })).toEqual(
      [],
    );
    expect(verdict({ panel_w: 0, panel_v: 1.2, panel_i: 0 }, nightMs)).toEqual([]);
  });

  // Trade facts of the panel at night: common practice, no source. Dew point and gust: physics.
  it.each([
    [{ panel_w: 4 }, nightMs, ['panel_w 4 panel-power-at-night']],
    [{ panel_i: 0.4 }, nightMs, ['panel_i 4 panel-power-at-night']],
    [{ panel_v: 12.5 }, nightMs, ['panel_v 3 panel-voltage-at-night']],
    [{ dew_point: 9, air_temp: 8 }, noonMs, ['dew_point 3 dew-point-above-air']],
    [{ dew_point: 8, air_temp: 8 }, noonMs, []],
    [{ wind_gust: 3, wind_speed: 5 }, noonMs, ['wind_gust 3 gust-below-mean']],
    [{ wind_gust: 5, wind_speed: 5 }, noonMs, []],
    [{ panel_i: 2, irradiance: 0 }, noonMs, ['panel_i 3 current-without-light']],
    [{ panel_i: 2, irradiance: 200 }, noonMs, []],
    [{ rain: 0.2, rel_hum: 41 }, noonMs, ['rain 3 rain-in-dry-air']],
    [{ rain: 0, rel_hum: 41 }, noonMs, []],
    [{ rain: 0.2, rel_hum: 88 }, noonMs, []],
    [{ air_temp: 61 }, noonMs, ['air_temp 4 gross-range']],
    [{ rel_hum: 102 }, noonMs, ['rel_hum 3 gross-range']],
  ] as const)('%j', (readings, atMs, expected) => {
    expect(verdict(readings, atMs)).toEqual(expected);
  });

  it('of unsure time is suspect whatever it says, and no neighbour of others', () => {
    const series = [0, 1, 2].map((i) =>
      sample(noonMs + i * MINUTE, { batt_v: i === 1 ? 14 : 12 }, i === 1 ? 'unsure' : 'synced'),
    );
    const [before, unsure, after] = assess(series);
    expect(unsure?.flags).toEqual([3]);
    expect(testsOfMask(unsure?.tests[0] ?? 0)).toEqual(['unsure-time']);
    expect([before?.flags, after?.flags]).toEqual([[1], [1]]);
  });

  it('dated before 2020 or over a day after its receipt fails', () => {
    const old = sample(Date.UTC(2019, 11, 31), { batt_v: 12 });
    const ahead = { ...sample(noonMs, { batt_v: 12 }), receivedAtMs: noonMs - 24 * 3_600_000 - 1 };
    for (const { flags, tests } of assess([old, ahead])) {
      expect(flags).toEqual([4]);
      expect(testsOfMask(tests[0] ?? 0)).toEqual(['impossible-date']);
    }
  });
});

describe('a series', () => {
  it('names the limit that was broken and what was found', () => {
    const volts = [12.5, 12.5, 13.5, 12.5, 12.5];
    const found = assess(volts.map((v, i) => sample(noonMs + i * MINUTE, { batt_v: v })));
    expect(found[2]?.findings).toEqual([
      { metric: 'batt_v', test: 'spike', flag: 3, found: 1, limit: 0.5 },
    ]);
  });

  it('of saturated air, calm, rain that does not fall and darkness may stand still', () => {
    const still = (value: number) => Array.from({ length: 400 }, () => value);
    expect(flagsOf('rel_hum', still(99)).at(-1)).toBe(1);
    expect(flagsOf('rel_hum', still(71)).at(-1)).toBe(3);
    expect(flagsOf('wind_speed', still(0.3)).at(-1)).toBe(1);
    expect(flagsOf('wind_speed', still(4)).at(-1)).toBe(3);
    expect(flagsOf('rain', still(0)).at(-1)).toBe(1);
    expect(flagsOf('irradiance', still(0), { fromMs: nightMs - 3 * 3_600_000 }).at(-1)).toBe(1);
    expect(flagsOf('irradiance', still(420))[100]).toBe(3);
    expect(flagsOf('wind_dir', still(200), { beside: { wind_speed: 1 } }).at(-1)).toBe(1);
  });

  it('of a vane in wind may not', () => {
    const vane = Array.from({ length: 200 }, (_, i) =>
      sample(noonMs + i * MINUTE, { wind_dir: 200, wind_speed: 4 + (i % 5) }),
    );
    expect(assess(vane).at(-1)?.flags).toEqual([3, 1]);
  });

  it('brighter than a clear sky is suspect after ten minutes, not at the edge of a cloud', () => {
    const short = [600, 1100, 1100, 700];
    expect(flagsOf('irradiance', short)).toEqual([1, 1, 1, 1]);
    const long = flagsOf(
      'irradiance',
      Array.from({ length: 14 }, (_, i) => 1100 + i),
    );
    expect(long.map((flag) => flag === 3)).toEqual([
      ...Array.from({ length: 11 }, () => false),
      true,
      true,
      true,
    ]);
  });

  it('of charge may not jump', () => {
    expect(flagsOf('charge', [50, 51, 61.5, 62])).toEqual([1, 1, 3, 3]);
    expect(flagsOf('charge', [50, 65], { stepMs: 6 * MINUTE })).toEqual([1, 1]);
  });
});

describe('limits', () => {
  it('of a node go over those of its site, and null switches a test off', () => {
    const site = { metrics: { batt_v: { failSpan: [10, 15] as const, spike: null } } };
    const node = { metrics: { batt_v: { failSpan: [20, 30] as const } } };
    expect(limitsInForce([site]).of('batt_v')).toMatchObject({ failSpan: [10, 15] });
    const both = limitsInForce([site, node]);
    expect(both.of('batt_v')).toMatchObject({ failSpan: [20, 30] });
    expect(both.of('batt_v').spike).toBeUndefined();
    const always = limitsOverTime([{ limits: site }, { limits: node }]);
    expect(assess([sample(noonMs, { batt_v: 12 })], always)[0]?.flags).toEqual([4]);
  });
});

it('tests keep their bits', () => {
  expect(testMask(['gross-range', 'unsure-time'])).toBe(4 + 128);
  expect(testsOfMask(4 + 128)).toEqual(['gross-range', 'unsure-time']);
});
