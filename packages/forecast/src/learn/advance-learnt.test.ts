import { DAY_MS, HOUR_MS, type HourlyHistory, type PowerSystem } from '@duskline/domain';
import { describe, expect, it } from 'vitest';
import { madeUpHistory, moor, moorPower } from '../testing.ts';
import { LIFE_DAYS, live, mixedDays } from '../testing-life.ts';
import { advanceLearnt } from './advance-learnt.ts';
import { explainLearnt } from './explain-learnt.ts';
import { resetLearnt } from './fresh-learnt.ts';
import type { LearntSite } from './learnt-site.ts';

const DAYS = LIFE_DAYS;
const HOURS = DAYS * 24;

const learn = (history: HourlyHistory, before?: LearntSite, power = moorPower): LearntSite =>
  advanceLearnt(before, {
    history,
    position: moor,
    power,
    nowMs: history.startMs + history.panelW.length * HOUR_MS,
  });

/** A smaller panel and battery, so that the charge swings and is seldom full. */
const lean: PowerSystem = {
  ...moorPower,
  panel: { ...moorPower.panel, ratedW: 9 },
  battery: { ...moorPower.battery, ratedWh: 60 },
  restartRatio: 0.4,
};

describe('what a node teaches', () => {
  it('is the scale of its panel: 0.7 of the plate is found within a tenth', () => {
    const { scale } = learn(live({ scale: () => 0.7, loadW: () => 1.5 })).panel;
    expect(scale.value).toBeGreaterThan(0.63);
    expect(scale.value).toBeLessThan(0.77);
    expect(scale.low).toBeLessThan(0.7);
    expect(scale.high).toBeGreaterThan(0.7);
    expect(scale.fromDays).toBeGreaterThan(50);
    expect(scale.sureness).toBe('firm');
  });

  it('is where something shades it: a wall to the east south-east, and nothing elsewhere', () => {
    const wall = (azimuthDeg: number): number => (azimuthDeg >= 120 && azimuthDeg < 150 ? 0.3 : 1);
    const { shade } = learn(live({ through: wall, loadW: () => 1.5 })).panel;
    const shaded = shade.filter(({ shadeRatio }) => shadeRatio < 1);
    expect(new Set(shaded.map(({ azimuthDeg }) => azimuthDeg))).toEqual(new Set([120, 135]));
    for (const { shadeRatio } of shaded) {
      // 0.3 is let through; the shrinkage by ten hours keeps it above.
      expect(shadeRatio).toBeGreaterThan(0.28);
      expect(shadeRatio).toBeLessThan(0.65);
    }
  });

  it('is no shade where there is none, whatever the weather', () => {
    const { shade } = learn(live({ loadW: () => 1.5 })).panel;
    expect(shade.length).toBeGreaterThan(10);
    expect(shade.filter(({ shadeRatio }) => shadeRatio < 1)).toEqual([]);
  });

  it('is where the panel faces: 95° at a tilt of 40°, entered as 180° at 60°', () => {
    const facing = { tiltDeg: 40, azimuthDeg: 95 };
    const { orientation } = learn(live({ facing, loadW: () => 1.5 })).panel;
    expect(orientation).toBeDefined();
    expect(Math.abs(orientation!.azimuthDeg.value - 95)).toBeLessThan(12);
    expect(Math.abs(orientation!.tiltDeg.value - 40)).toBeLessThan(12);
    expect(orientation!.azimuthDeg.fromDays).toBeGreaterThanOrEqual(5);
  });

  it('is not where the panel faces when the sky was never clear', () => {
    const dull = (day: number): number => 0.1 + (day % 5) / 25;
    expect(learn(live({ weather: dull, loadW: () => 0.3 })).panel.orientation).toBeUndefined();
  });

  it('is that its panel fell by a third a week ago, on clear days', () => {
    const fell = live({ scale: (i) => (i >= HOURS - 9 * 24 ? 0.6 : 0.9), loadW: () => 1.1 });
    const { warning } = learn(fell).panel;
    expect(warning?.kind).toBe('scale-falls');
    expect(warning!.fromRatio).toBeCloseTo(0.9, 1);
    expect(warning!.toRatio).toBeCloseTo(0.6, 1);
    expect(warning!.clearDays).toBeGreaterThanOrEqual(2);
    expect(warning!.says).toContain('90 %');
  });

  it('is no warning when the weather turned dull, or when dust takes its usual 0.3 % a day', () => {
    const dull = (day: number): number => (day < 46 ? mixedDays(day) : 0.2 + (day % 4) / 20);
    expect(learn(live({ weather: dull, loadW: () => 1 })).panel.warning).toBeUndefined();
    const dust = live({ scale: (i) => 1 - 0.003 * (i / 24), loadW: () => 1.5 });
    expect(learn(dust).panel.warning).toBeUndefined();
  });

  it('is what its battery still holds: 70 % of the plate, from its swings', () => {
    const loadW = (i: number): number => (Math.floor(i / 96) % 2 === 0 ? 1.6 : 0.5);
    const state = learn(live({ power: lean, healthRatio: 0.7, loadW }), undefined, lean);
    const { health, capacityWh } = state.battery;
    expect(state.battery.swings).toBeGreaterThanOrEqual(3);
    expect(Math.abs(health.value - 0.7)).toBeLessThan(0.07);
    expect(health.low).toBeLessThan(0.7);
    expect(health.high).toBeGreaterThan(0.7);
    expect(capacityWh.value).toBeCloseTo(60 * health.value, 9);
  });

  it('is the battery’s plate, give or take a tenth, as long as nothing swings', () => {
    const { health } = learn(live({ loadW: () => 0.05 })).battery;
    expect(health.sureness).toBe('assumed');
    expect(health.value).toBe(1);
    // Prior σ 0.1 (project research note §7.3): a band of ±0.128, a little wider after two months.
    expect(health.high - health.low).toBeGreaterThan(2 * 0.128);
    expect(health.high - health.low).toBeLessThan(2 * 0.14);
  });

  it('is the resistance of its battery: 0.25 Ω from steps of a heater', () => {
    const ohm = 0.25;
    const current = (i: number): number => (i % 6 < 3 ? -2 : 0.2);
    const start = Date.UTC(2026, 9, 1);
    const history = madeUpHistory(start, 240, {
      loadW: () => 1,
      chargeRatio: () => 0.5,
      batteryA: current,
      // Rest voltage of three such cells at half charge, as a constant: only the steps matter.
      batteryV: (i) => 11.1 + ohm * current(i),
      batteryC: () => 25,
    });
    const { resistanceOhm } = learn(history).battery;
    // The charge moved by each hour's current lifts the rest voltage by a few hundredths of a volt: it is taken off, roughly.
    expect(Math.abs(resistanceOhm!.value - ohm)).toBeLessThan(0.05);
  });

  it('is the weather of the days it was dark: a fortnight of a tenth of the sun is in the pool', () => {
    const dull = (day: number): number => (day >= 20 && day < 34 ? 0.12 : 0.55);
    const history = live({ power: lean, weather: dull, loadW: () => 1.3 });
    const silent = history.panelW.map((value, i) => (value === null ? Math.floor(i / 24) : -1));
    const darkDays = [...new Set(silent)].filter(
      (day) => day >= 0 && silent.filter((one) => one === day).length === 24,
    );
    expect(darkDays.length).toBeGreaterThan(4);
    const { days } = learn(history, undefined, lean).weather;
    const dark = days.filter(({ dayMs }) =>
      darkDays.includes(Math.round((dayMs - history.startMs) / DAY_MS)),
    );
    expect(dark.length).toBe(darkDays.length);
    const truth = darkDays.reduce((sum, day) => sum + dull(day), 0) / darkDays.length;
    const found = dark.reduce((sum, { ratio }) => sum + ratio, 0) / dark.length;
    expect(found / truth).toBeGreaterThan(0.75);
    expect(found / truth).toBeLessThan(1.3);
  });
});

describe('the state of what was learnt', () => {
  const history = live({ power: lean, healthRatio: 0.8, loadW: (i) => 0.6 + (i % 24) / 24 });
  const upTo = (days: number): HourlyHistory => ({
    ...history,
    panelW: history.panelW.slice(0, days * 24),
    loadW: history.loadW.slice(0, days * 24),
    chargeRatio: history.chargeRatio.slice(0, days * 24),
    batteryV: history.batteryV.slice(0, days * 24),
    batteryA: history.batteryA.slice(0, days * 24),
    batteryC: history.batteryC.slice(0, days * 24),
    airC: history.airC.slice(0, days * 24),
  });

  it('is plain JSON, and carried on from a stored copy as from the living one', () => {
    const half = learn(upTo(30), undefined, lean);
    const stored = JSON.parse(JSON.stringify(half)) as LearntSite;
    expect(stored).toEqual(half);
    expect(learn(history, stored, lean)).toEqual(learn(history, half, lean));
  });

  it('comes to the same capacity looked at every five days or once', () => {
    let often: LearntSite | undefined;
    for (let days = 5; days <= DAYS; days += 5) often = learn(upTo(days), often, lean);
    const once = learn(history, undefined, lean);
    expect(often!.battery.swings).toBe(once.battery.swings);
    expect(often!.battery.health.value).toBeCloseTo(once.battery.health.value, 2);
  });

  it('keeps the days whose hours are gone', () => {
    const before = learn(history, undefined, lean);
    const later = madeUpHistory(history.startMs + DAYS * DAY_MS, 48, {
      panelW: () => 0,
      loadW: () => 1,
      chargeRatio: () => 0.5,
    });
    const { days } = learn(later, before, lean).weather;
    expect(days.length).toBeGreaterThanOrEqual(before.weather.days.length);
    expect(days[0]).toEqual(before.weather.days[0]);
  });

  it('forgets one part and keeps the others, and learns that part from later readings alone', () => {
    const before = learn(history, undefined, lean);
    const atMs = before.untilMs;
    const after = resetLearnt(before, 'battery', atMs);
    expect(after.battery.health.value).toBe(1);
    expect(after.battery.swings).toBe(0);
    expect(after.load).toEqual(before.load);
    expect(after.panel).toEqual(before.panel);
    // The same hours once more: none of them is of the new battery.
    expect(learn(history, after, lean).battery.swings).toBe(0);

    const load = learn(history, resetLearnt(before, 'load', atMs - 3 * DAY_MS), lean).load;
    expect(load.level.fromDays).toBeLessThanOrEqual(4);
  });

  it('knows a new panel from an old one: the weather stays, the scale begins at the plate', () => {
    const swapMs = Date.UTC(2026, 9, 10);
    const swapped = live({
      scale: (i) => (Date.UTC(2026, 9, 20) - DAYS * DAY_MS + i * HOUR_MS < swapMs ? 0.5 : 1),
      loadW: () => 0.6,
    });
    const old = learn(swapped);
    const state = learn(swapped, resetLearnt(old, 'panel', swapMs));
    expect(state.panel.scale.value).toBeGreaterThan(0.9);
    expect(state.panel.scale.fromDays).toBeLessThanOrEqual(10);
    // A cloudless day before the swap gave 0.5 of the sky's; seen through the new panel it would have given all.
    const clear = state.weather.days.filter(
      ({ dayMs, isCensored }) =>
        !isCensored &&
        Math.round((dayMs - swapped.startMs) / DAY_MS) % 3 === 0 &&
        dayMs < swapMs - DAY_MS,
    );
    expect(clear.length).toBeGreaterThan(5);
    for (const { ratio } of clear) {
      expect(ratio).toBeGreaterThan(0.8);
      expect(ratio).toBeLessThan(1.25);
    }
  });

  it('explains itself: value with unit, band, days, date, how', () => {
    const lines = explainLearnt(learn(history, undefined, lean));
    expect(new Set(lines.map(({ part }) => part))).toEqual(
      new Set(['panel', 'battery', 'load', 'weather']),
    );
    const capacity = lines.find(({ name }) => name === 'capacity')!.says;
    expect(capacity).toMatch(
      /^\d+(\.\d+)? Wh \(80 % between .* Wh\), \w+, from \d+ days until 2026-10-20/,
    );
    expect(capacity).toContain('swings of charge');
  });
});
