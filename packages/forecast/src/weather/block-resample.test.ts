import { describe, expect, it } from 'vitest';
import type { YieldDay } from '../learn/yield-days.ts';
import { seededRandom } from '../seeded-random.ts';
import { blockResample } from './block-resample.ts';

const known = (day: number, ratio: number): YieldDay => ({
  day,
  ratio,
  isCensored: false,
  heardShare: 1,
  firstHour: 0,
});
const bounded = (day: number, ratio: number): YieldDay => ({
  ...known(day, ratio),
  isCensored: true,
});
const recentFromDay = -60;

function draws(
  days: readonly YieldDay[],
  options: { siteScale?: number; horizon?: number; count?: number } = {},
) {
  const horizon = options.horizon ?? 8;
  const source = blockResample({ days, recentFromDay, siteScale: options.siteScale ?? 1 }, horizon);
  const random = seededRandom(11);
  return Array.from({ length: options.count ?? 400 }, () => {
    const draw = { ratio: new Float64Array(horizon), poolDay: new Int32Array(horizon) };
    source.draw(random, draw);
    return draw;
  });
}

describe('weather from own days', () => {
  const sixty = Array.from({ length: 60 }, (_, i) => known(i - 60, ((i * 7) % 60) / 60));

  it('goes on through four days as they were', () => {
    for (const { poolDay } of draws(sixty)) {
      const gaps = [1, 2, 3].map((day) => poolDay[day]! - poolDay[day - 1]!);
      if (poolDay[0]! <= 56) expect(gaps).toEqual([1, 1, 1]);
    }
  });

  it('starts after a day like yesterday', () => {
    const yesterday = sixty.at(-1)!.ratio;
    const nearest = sixty
      .slice(0, -1)
      .map((day) => Math.abs(day.ratio - yesterday))
      .sort((a, b) => a - b)[14]!;
    for (const { poolDay } of draws(sixty)) {
      const before = sixty[poolDay[0]! - 1]!;
      expect(Math.abs(before.ratio - yesterday)).toBeLessThanOrEqual(nearest + 1e-12);
    }
  });

  it('starts with a day like today once today is known', () => {
    const days = [...sixty, known(0, 0.5)];
    for (const { ratio } of draws(days)) expect(Math.abs(ratio[0]! - 0.5)).toBeLessThan(0.15);
  });

  it('breaks a block at a gap in the days', () => {
    const days = [known(-9, 0.1), known(-8, 0.2), known(-5, 0.5), known(-4, 0.6)];
    let afterGap = 0;
    let goesOn = 0;
    for (const { poolDay } of draws(days, { horizon: 2, count: 4000 }))
      if (poolDay[0] === 1) {
        afterGap++;
        if (poolDay[1] === 2) goesOn++;
      }
    // Day −5 does not follow day −8: it comes next only by chance, as one of four.
    expect(afterGap).toBeGreaterThan(800);
    expect(Math.abs(goesOn / afterGap - 0.25)).toBeLessThan(0.06); // 4 standard errors
  });

  it('gives a censored day the yield of a known day at least as good, all such days alike', () => {
    const donors = [0.1, 0.3, 0.5, 0.6, 0.7, 0.8].map((ratio, i) => known(-40 + 2 * i, ratio));
    const days = [...donors, bounded(-10, 0.45)];
    const drawn = draws(days, { count: 3000, horizon: 1 })
      .filter(({ poolDay }) => poolDay[0] === 6)
      .map(({ ratio }) => ratio[0]!);
    expect(drawn.length).toBeGreaterThan(300);
    expect(Math.min(...drawn)).toBe(0.5);
    // Efron's redistribution: a quarter each of 0.5, 0.6, 0.7, 0.8.
    for (const ratio of [0.5, 0.6, 0.7, 0.8]) {
      const share = drawn.filter((value) => value === ratio).length / drawn.length;
      expect(Math.abs(share - 0.25)).toBeLessThan(0.08); // 4 standard errors of 400 draws
    }
  });

  it('with fewer than four donors takes the bound or nine tenths of the envelope', () => {
    const days = [known(-3, 0.2), known(-2, 0.9), bounded(-1, 0.4)];
    const drawn = draws(days, { siteScale: 0.8, horizon: 1 }).filter((one) => one.poolDay[0] === 2);
    for (const { ratio } of drawn) expect(ratio[0]).toBeCloseTo(0.72, 12);
    expect(drawn.length).toBeGreaterThan(50);
  });

  it('draws days of earlier years by how near their date is', () => {
    const count = (index: number) =>
      draws([known(-365, 0.2), known(-335, 0.4)], { horizon: 1, count: 4000 }).filter(
        ({ poolDay }) => poolDay[0] === index,
      ).length;
    // exp(−½ (30/25)²) ≈ 0.487 against about 1 (a quarter of a day off): odds of 2.05.
    const odds = count(0) / count(1);
    expect(odds).toBeGreaterThan(1.85);
    expect(odds).toBeLessThan(2.3);
  });

  it('refuses an empty pool', () => {
    expect(() => draws([])).toThrow(RangeError);
  });
});
