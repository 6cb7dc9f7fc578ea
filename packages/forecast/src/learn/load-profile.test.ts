import { DAY_MS, HOUR_MS } from '@duskline/domain';
import { describe, expect, it } from 'vitest';
import { madeUpHistory, moor, moorPower } from '../testing.ts';
import { loadProfile } from './load-profile.ts';
import { pastHours } from './past-hours.ts';

const DAYS = 20;
const startMs = Date.UTC(2026, 8, 20);

function learn(series: Parameters<typeof madeUpHistory>[2], capacityWh = 100) {
  const endMs = startMs + DAYS * DAY_MS;
  const history = madeUpHistory(startMs, DAYS * 24, series);
  const site = { position: moor, panel: moorPower.panel, startMs: endMs, untilMs: endMs };
  return loadProfile(pastHours({ history, ...site }), capacityWh);
}
const perDay = (profile: Float64Array) => profile.reduce((sum, value) => sum + value, 0);

describe('the load', () => {
  it('is learnt by the hour of the day', () => {
    const load = learn({ loadW: (i) => (i % 24 === 6 ? 5 : 1) })!;
    expect(load.from).toBe('measured');
    expect(load.byUtcHourW[6]).toBeCloseTo(5, 10);
    expect(load.byUtcHourW[7]).toBeCloseTo(1, 10);
    expect(load.days).toBe(14);
  });

  it('is not moved by one wild day', () => {
    const load = learn({ loadW: (i) => (Math.floor(i / 24) === 15 ? 8 : 1) })!;
    expect(perDay(load.byUtcHourW)).toBeGreaterThan(23.9);
    expect(perDay(load.byUtcHourW)).toBeLessThan(24.5);
  });

  it('follows a step at once: two days at twice the load make it twice the load, less sure', () => {
    const load = learn({ loadW: (i) => (Math.floor(i / 24) >= 18 ? 2 : 1) })!;
    expect(perDay(load.byUtcHourW)).toBeCloseTo(48, 6);
    expect(load.daySigma).toBeCloseTo(0.06, 10); // twice the least 0.03
    expect(load.days).toBe(2);
  });

  it('names the step: from 24 to 48 Wh a day, and its first day', () => {
    const load = learn({ loadW: (i) => (Math.floor(i / 24) >= 18 ? 2 : 1) })!;
    expect(load.step?.day).toBe(-2);
    expect(load.step?.fromWhPerDay).toBeCloseTo(24, 6);
    expect(load.step?.toWhPerDay).toBeCloseTo(48, 6);
    expect(learn({ loadW: (i) => (Math.floor(i / 24) === 15 ? 8 : 1) })!.step).toBeUndefined();
  });

  it('still knows the step a week later, when half of its days lie on either side', () => {
    const load = learn({ loadW: (i) => (Math.floor(i / 24) >= 13 ? 2 : 1) })!;
    expect(perDay(load.byUtcHourW)).toBeCloseTo(48, 6);
    expect(load.step?.day).toBe(-7);
    expect(load.days).toBe(7);
  });

  it('takes the shape of the day from after the step', () => {
    // A camera at noon, new since four days: the old nights tell nothing of it.
    const load = learn({ loadW: (i) => (Math.floor(i / 24) >= 16 && i % 24 === 12 ? 13 : 1) })!;
    expect(load.byUtcHourW[12]).toBeCloseTo(13, 6);
    expect(load.byUtcHourW[3]).toBeCloseTo(1, 6);
  });

  it('leaves out what was drawn before a replacement', () => {
    const history = madeUpHistory(startMs, DAYS * 24, { loadW: (i) => (i < 400 ? 3 : 1) });
    const endMs = startMs + DAYS * DAY_MS;
    const site = { position: moor, panel: moorPower.panel, startMs: endMs, untilMs: endMs };
    const load = loadProfile(pastHours({ history, ...site }), 100, startMs + 400 * HOUR_MS)!;
    expect(perDay(load.byUtcHourW)).toBeCloseTo(24, 6);
    expect(load.step).toBeUndefined();
  });

  it('looks at alive days only: a fortnight of silence does not age it', () => {
    const load = learn({ loadW: (i) => (i < 5 * 24 ? 1.5 : null), chargeRatio: () => 0.5 })!;
    expect(perDay(load.byUtcHourW)).toBeCloseTo(36, 6);
    expect(load.days).toBe(5);
  });

  it('is told by the fall of charge at night where the node does not report it', () => {
    // 100 Wh losing one point an hour draw 1 W; by day the charge is brought back.
    const load = learn({ chargeRatio: (i) => 0.9 - ((i + 6) % 24) / 100 })!;
    expect(load.from).toBe('charge-by-night');
    expect(perDay(load.byUtcHourW)).toBeCloseTo(24, 6);
  });

  it('is unknown where neither load nor charge was ever read', () => {
    expect(learn({ panelW: () => 1 })).toBeUndefined();
  });

  it('of nothing is nothing, not a division by it', () => {
    const load = learn({ loadW: () => 0 })!;
    expect(perDay(load.byUtcHourW)).toBe(0);
    expect(Number.isFinite(load.daySigma)).toBe(true);
    expect(Number.isFinite(load.lastResidual)).toBe(true);
  });
});
