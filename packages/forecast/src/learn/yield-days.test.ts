import { DAY_MS, HOUR_MS } from '@duskline/domain';
import { batteryOf, batteryPackOf, referenceHourlyWh } from '@duskline/energy';
import { describe, expect, it } from 'vitest';
import { madeUpHistory, moor, moorPower } from '../testing.ts';
import { batteryHours } from './battery-hours.ts';
import { harvestHours } from './harvest-hours.ts';
import { BLOCKED, CLIPPED, flagHours, FREE, NOT_HEARD } from './hour-flags.ts';
import { loadProfile } from './load-profile.ts';
import { pastHours } from './past-hours.ts';
import { siteScale } from './site-scale.ts';
import { yieldDays } from './yield-days.ts';

/** Ten equinox days, from solar midnight to solar midnight at longitude 0. */
const DAYS = 10;
const HOURS = DAYS * 24;
const startMs = Date.UTC(2026, 8, 20);
const endMs = startMs + DAYS * DAY_MS;
const reference = referenceHourlyWh({
  position: moor,
  panel: moorPower.panel,
  startMs,
  hours: HOURS,
});

function learn(series: Parameters<typeof madeUpHistory>[2], untilMs = endMs) {
  const history = madeUpHistory(startMs, HOURS, { loadW: () => 1, ...series });
  const past = pastHours({
    history,
    position: moor,
    panel: moorPower.panel,
    startMs: untilMs,
    untilMs,
  });
  const hours = batteryHours(history, past.count);
  const load = loadProfile(past, 100)!;
  const harvest = harvestHours(past, load, batteryPackOf(moorPower));
  const flags = flagHours(past, harvest, { hours, facts: batteryOf('li-ion-nmc'), seriesCells: 3 });
  const facts = { flags, ratedW: moorPower.panel.ratedW };
  return {
    flags,
    days: yieldDays(past, harvest, facts),
    scale: siteScale(past, harvest, facts),
    harvestFrom: harvest.from,
  };
}

describe('the daily yield', () => {
  it('is harvest over clear sky, day by day, counted back from today', () => {
    const { days } = learn({ panelW: (i) => reference[i]! * (0.2 + Math.floor(i / 24) / 20) });
    expect(days.map((day) => day.day)).toEqual([-10, -9, -8, -7, -6, -5, -4, -3, -2, -1]);
    days.forEach((day, i) => {
      expect(day.ratio).toBeCloseTo(0.2 + i / 20, 3);
      expect(day.isCensored).toBe(false);
      expect(day.heardShare).toBeCloseTo(1, 10);
    });
  });

  it('of a day half over is the ratio of the hours so far, not half a day', () => {
    const noonMs = endMs - 12 * HOUR_MS;
    const { days } = learn({ panelW: (i) => reference[i]! * 0.6 }, noonMs);
    const today = days.at(-1)!;
    expect(today.day).toBe(0);
    expect(today.ratio).toBeCloseTo(0.6, 3);
    expect(today.heardShare).toBeGreaterThan(0.4);
    expect(today.heardShare).toBeLessThan(0.6);
  });

  it('leaves out a day heard for less than a quarter of its light', () => {
    const { days } = learn({
      panelW: (i) => (i < 24 && i % 24 > 8 ? null : reference[i]! * 0.5),
    });
    expect(days.length).toBe(DAYS - 1);
  });

  it('takes free hours alone: a battery full from one on does not make the morning poor', () => {
    const { days } = learn({
      panelW: (i) => (i % 24 < 13 ? reference[i]! * 0.8 : 1),
      chargeRatio: (i) => (i % 24 < 13 ? 0.9 : 1),
    });
    days.forEach((day) => {
      expect(day.isCensored).toBe(false);
      expect(day.ratio).toBeCloseTo(0.8, 3);
    });
  });

  it('is only a lower bound where the battery was full nearly all day', () => {
    const { days } = learn({ panelW: () => 1, chargeRatio: () => 1 });
    const dayWh = reference.subarray(0, 24).reduce((sum, value) => sum + value, 0);
    const lightHours = reference.subarray(0, 24).filter((value) => value > 0).length;
    expect(days[0]!.isCensored).toBe(true);
    expect(days[0]!.ratio).toBeCloseTo(lightHours / dayWh, 10);
  });

  it('knows nothing of days in the future of the outlook', () => {
    const cut = endMs - 3 * DAY_MS;
    const before = learn({ panelW: (i) => reference[i]! * 0.5 }, cut);
    const after = learn({ panelW: (i) => (i < HOURS - 72 ? reference[i]! * 0.5 : 999) }, cut);
    expect(after.days).toEqual(before.days);
  });

  it('is worked back from battery current, and from charge, where the panel is not read', () => {
    // 11 V: 0.95 · P − 1 W flows into the battery.
    const current = learn({
      batteryV: () => 11,
      batteryA: (i) => (reference[i]! * 0.5 * 0.95 - 1) / 11,
    });
    expect(current.harvestFrom).toBe('current');
    expect(current.days[4]!.ratio).toBeCloseTo(0.5, 2);

    // Charge by the hour of a 100 Wh battery kept at half, moved by what flows; 0.97 of the energy stays in on the way in.
    let stored = 50;
    const charge = Array.from({ length: HOURS }, (_, i) => {
      const before = stored;
      const net = reference[i]! * 0.5 * 0.95 - 1;
      stored += net > 0 ? net * 0.97 : net;
      if (i % 24 === 23) stored = 50 + (stored - 50) / 10;
      return (before + stored) / 200;
    });
    const slope = learn({ chargeRatio: (i) => charge[i]! });
    expect(slope.harvestFrom).toBe('charge');
    expect(slope.days[4]!.ratio).toBeGreaterThan(0.45);
    expect(slope.days[4]!.ratio).toBeLessThan(0.55);
  });
});

describe('an hour', () => {
  it('is free, clipped, blocked or not heard', () => {
    const { flags } = learn({
      panelW: (i) => (i === 36 ? null : 2),
      chargeRatio: (i) => (i >= 60 && i < 84 ? 0.98 : 0.5),
      batteryC: (i) => (i >= 130 && i < 136 ? -3 : 8),
    });
    expect(flags[36]).toBe(NOT_HEARD);
    expect(flags[35]).toBe(FREE);
    expect(flags[60]).toBe(CLIPPED);
    expect(flags[59]).toBe(CLIPPED); // it was being filled
    expect(flags[132]).toBe(BLOCKED);
    expect(flags[157]).toBe(FREE);
  });

  it('is clipped when the battery stands at the full voltage of its cells', () => {
    const { flags } = learn({ panelW: () => 2, batteryV: (i) => (i === 36 ? 12.5 : 11.4) });
    expect(flags[36]).toBe(CLIPPED); // three cells at 4.17 V
    expect(flags[37]).toBe(FREE);
  });
});

describe('the scale of a site', () => {
  it('is the envelope of its free, bright hours', () => {
    const { scale } = learn({ panelW: (i) => reference[i]! * (i % 2 === 0 ? 0.7 : 0.3) });
    expect(scale).toBeGreaterThan(0.68);
    expect(scale).toBeLessThan(0.76);
  });

  it('is 1 when no bright hour was free', () => {
    expect(learn({ panelW: () => 1, chargeRatio: () => 1 }).scale).toBe(1);
  });
});
