import { describe, expect, it } from 'vitest';
import { brier, crps, skill } from './scores.ts';

/** Hand values; the two-member and uniform cases follow from E|X − y| − ½E|X − X′|. Four cases. */
describe('the scores', () => {
  it('give the absolute error for a single member', () => {
    expect(crps([4], 6.5, 21)).toBeCloseTo(2.5, 12);
  });

  it('give (1 + 1)/2 − ½·(0 + 2 + 2 + 0)/4 = 0.5 for members 1 and 3 and the truth 2', () => {
    expect(crps([1, 3], 2, 21)).toBeCloseTo(0.5, 12);
  });

  it('cut members and truth at the horizon, so that "never" twice scores nothing', () => {
    expect(crps([Number.POSITIVE_INFINITY, 40], 25, 21)).toBe(0);
    // Members 1 and 21 (cut), truth 21: 20/2 − ½·(20 + 20)/4 = 5.
    expect(crps([1, Number.POSITIVE_INFINITY], Number.POSITIVE_INFINITY, 21)).toBeCloseTo(5, 12);
  });

  it('approach 1/12 for a uniform ensemble about its middle: 1/4 − ½ · 1/3', () => {
    const members = Array.from({ length: 10_000 }, (_, i) => (i + 0.5) / 10_000);
    expect(crps(members, 0.5, 21)).toBeCloseTo(1 / 12, 6);
  });

  it('score a probability by its squared error, and skill as the share saved', () => {
    expect(brier(0.8, false)).toBeCloseTo(0.64, 12);
    expect(skill([1, 3], [4, 4])).toBeCloseTo(0.5, 12);
  });
});
