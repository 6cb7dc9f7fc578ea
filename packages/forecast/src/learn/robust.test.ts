import { describe, expect, it } from 'vitest';
import { huberMean, median, percentile, robustSigma } from './robust.ts';

describe('robust location and scale', () => {
  it('take the middle, or the mean of the two middle values', () => {
    expect(median([9, 1, 5])).toBe(5);
    expect(median([9, 1, 5, 7])).toBe(6);
    expect(percentile([1, 2, 3, 4, 5], 0.9)).toBeCloseTo(4.6, 12); // type 7: 1 + 4 · 0.9
    expect(() => median([])).toThrow(RangeError);
  });

  it('scale the median absolute deviation by 1.4826', () => {
    expect(robustSigma([1, 2, 3, 4, 100], 3)).toBeCloseTo(1.4826, 12);
  });

  it('are the plain mean of calm data and hardly moved by one wild value', () => {
    expect(huberMean([1, 2, 3], [1, 1, 1], 10)).toBeCloseTo(2, 12);
    const wild = huberMean([1, 1.1, 0.9, 1, 50], [1, 1, 1, 1, 1], 0.1);
    expect(wild).toBeGreaterThan(1);
    expect(wild).toBeLessThan(1.05); // fixed point: 4 · (c − 1) = 1.345 · 0.1, c = 1.034
  });
});
