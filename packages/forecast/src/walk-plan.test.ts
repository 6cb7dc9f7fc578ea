import { HOUR_MS } from '@duskline/domain';
import { batteryPackOf, referenceHourlyWh } from '@duskline/energy';
import { describe, expect, it } from 'vitest';
import { clearSkyHours } from './clear-sky-hours.ts';
import { moor, moorPower } from './testing.ts';
import { daysOf, referenceByDay, walkPlan } from './walk-plan.ts';

const startMs = Date.UTC(2026, 10, 25, 3);
const load = {
  byUtcHourW: Float64Array.from({ length: 24 }, (_, hour) => 1 + hour / 100),
  daySigma: 0.03,
  levelSigma: 0.01,
  lastResidual: 0,
  lastDay: 0,
  days: 14,
  from: 'measured',
} as const;
const planFrom = (nowMs: number) =>
  walkPlan({
    startMs,
    nowMs,
    horizonDays: 30,
    position: moor,
    panel: moorPower.panel,
    shade: [],
    pack: batteryPackOf(moorPower),
    load,
    temperatureC: new Float32Array(24).fill(10),
    startsAs: 'up',
  });

describe('the plan of a walk', () => {
  const nowMs = startMs + 7 * HOUR_MS;
  const plan = planFrom(nowMs);
  const lengths = [...plan.lengthH.subarray(0, plan.steps)];

  it('covers the time from the start to the horizon, without a gap', () => {
    expect(lengths.reduce((sum, length) => sum + length, 0)).toBe(7 + 30 * 24);
    expect(daysOf(plan)).toBe(31);
  });

  it('keeps every watt-hour of sun and load', () => {
    const hours = 7 + 30 * 24;
    const sunWh = clearSkyHours({ position: moor, panel: moorPower.panel, startMs, hours });
    const loadWh = Array.from({ length: hours }, (_, hour) => 1 + ((3 + hour) % 24) / 100);
    const sum = (values: ArrayLike<number>) =>
      Array.from(values).reduce((total, value) => total + value, 0);
    expect(sum(lengths.map((h, i) => h * plan.referenceW[i]!))).toBeCloseTo(sum(sunWh), 8);
    expect(sum(lengths.map((h, i) => h * plan.loadW[i]!))).toBeCloseTo(sum(loadWh), 8);
  });

  it('walks by the hour in daylight and never across an hour of the fan', () => {
    let atH = 0;
    lengths.forEach((length, i) => {
      if (plan.referenceW[i]! > 0) expect(length).toBe(1);
      const first = Math.floor((atH - plan.nowH) / 6);
      const last = Math.floor((atH + length - 1 - plan.nowH) / 6);
      expect(last).toBe(first);
      atH += length;
    });
    expect(plan.steps).toBeLessThan(0.65 * (7 + 30 * 24)); // a northern November is mostly night
  });

  it('counts the sun of the coming days from now on', () => {
    const week = referenceByDay(plan, 7 * 24).reduce((sum, value) => sum + value, 0);
    const hourly = referenceHourlyWh({
      position: moor,
      panel: moorPower.panel,
      startMs: nowMs,
      hours: 7 * 24,
    });
    expect(week).toBeCloseTo(
      hourly.reduce((sum, value) => sum + value, 0),
      0, // every fourth day is computed: clear-sky-hours.ts
    );
  });
});
