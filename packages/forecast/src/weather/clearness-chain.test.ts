import { describe, expect, it } from 'vitest';
import { seededRandom } from '../seeded-random.ts';
import { clearnessChain, readyMatrices } from './clearness-chain.ts';
import { clearnessMatrices } from './clearness-matrices.ts';

const course = (mean: number, days: number, seed = 1, yesterday?: number): Float64Array => {
  const chain = clearnessChain({
    clearnessByMonth: new Array<number>(12).fill(mean),
    startDayOfYear: 1,
    days,
  });
  const into = new Float64Array(days);
  chain.draw(seededRandom(seed), into, { yesterday });
  return into;
};
const meanOf = (values: ArrayLike<number>): number =>
  Array.from(values).reduce((sum, value) => sum + value, 0) / values.length;

describe('the library of matrices', () => {
  it('is ten of ten by ten, rows summing to 1 as published', () => {
    expect(clearnessMatrices.length).toBe(10);
    for (const { rows } of clearnessMatrices) {
      expect(rows.length).toBe(10);
      for (const row of rows) {
        expect(row.length).toBe(10);
        // 0.003: three decimals in ten cells, as the source prints them.
        expect(Math.abs(row.reduce((sum, value) => sum + value, 0) - 1)).toBeLessThan(0.0031);
      }
    }
  });

  it('has the long-run means of the months it was made from', () => {
    // Aguiar et al. 1988: matrices for monthly means ≤ 0.30, 0.35–0.40, … 0.65–0.70, > 0.70 (the second is left out).
    const classes = [
      [0, 0.3],
      [0.35, 0.4],
      [0.4, 0.45],
      [0.45, 0.5],
      [0.5, 0.55],
      [0.55, 0.6],
      [0.6, 0.65],
      [0.65, 0.7],
      [0.7, 1],
    ] as const;
    expect(readyMatrices.length).toBe(9);
    readyMatrices.forEach(({ mean }, i) => {
      expect(mean).toBeGreaterThan(classes[i]![0]);
      expect(mean).toBeLessThan(classes[i]![1]);
    });
  });
});

describe('a course of clearness', () => {
  it('meets the monthly mean, whatever it is', () => {
    for (const mean of [0.22, 0.3, 0.33, 0.41, 0.5, 0.62, 0.71])
      expect(meanOf(course(mean, 20_000))).toBeCloseTo(mean, 1.7);
  });

  it('remembers the day before', () => {
    const days = course(0.45, 20_000);
    const mean = meanOf(days);
    const lagged = meanOf(days.slice(1).map((value, i) => (value - mean) * (days[i]! - mean)));
    const lag1 = lagged / meanOf(days.map((value) => (value - mean) ** 2));
    // Daily clearness has a lag-1 correlation of about 0.3 in most climates: Graham & Hollands 1988 [M].
    expect(lag1).toBeGreaterThan(0.15);
    expect(lag1).toBeLessThan(0.5);
  });

  it('is duller after a dull day than after a bright one', () => {
    const first = (yesterday: number) =>
      meanOf(Array.from({ length: 2000 }, (_, seed) => course(0.45, 1, seed, yesterday)[0]!));
    expect(first(0.1)).toBeLessThan(first(0.7) - 0.05);
  });

  it('comes back with its seed, and refuses months out of range', () => {
    expect(course(0.5, 50, 7)).toEqual(course(0.5, 50, 7));
    expect(() => course(0.95, 5)).toThrow(RangeError);
  });
});
