import { describe, expect, it } from 'vitest';
import type { YieldDay } from '../learn/yield-days.ts';
import { moor, moorPower } from '../testing.ts';
import { clearnessYield } from './clearness-yield.ts';
import { panelAgainstClimate } from './panel-against-climate.ts';

const DAYS = 60;
const yields = clearnessYield({
  position: moor,
  panel: moorPower.panel,
  startMs: Date.UTC(2026, 9, 20),
  fromDay: -DAYS,
  days: DAYS,
});
const daysOf = (count: number, scale: number): readonly YieldDay[] =>
  Array.from({ length: count }, (_, i) => ({
    day: i - count,
    // Clearness from dull to bright and back, mean 0.45.
    ratio: scale * yields.ratio(i - count, 0.2 + (0.5 * ((i * 7) % 11)) / 10),
    isCensored: false,
    heardShare: 1,
    firstHour: -1,
  }));

describe('the panel weighed against the climate', () => {
  it('is the prior without days, and found within a tenth by sixty: 0.7 of the plate', () => {
    expect(panelAgainstClimate([], () => 0.45, yields).ratio).toBeCloseTo(0.95, 2);
    const found = panelAgainstClimate(daysOf(DAYS, 0.7), () => 0.45, yields);
    expect(Math.abs(Math.log(found.ratio / 0.7))).toBeLessThan(0.1);
  });

  it('is never surer than its yardstick, however many days are seen', () => {
    // Project research note §3 and §4: 3.9 % RMSE of the cloudless sky, 4.3 % of what falls on the plane, both against measurements.
    const yardstick = Math.hypot(0.039, 0.043);
    for (const count of [20, DAYS]) {
      const { sigma } = panelAgainstClimate(daysOf(count, 0.9), () => 0.45, yields);
      expect(sigma).toBeGreaterThan(yardstick);
      expect(sigma).toBeLessThan(0.18);
    }
  });
});
