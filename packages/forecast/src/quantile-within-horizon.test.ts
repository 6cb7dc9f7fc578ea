import { describe, expect, it } from 'vitest';
import { chanceBy, quantileWithinHorizon } from './quantile-within-horizon.ts';

const never = Number.POSITIVE_INFINITY;
const of = (...times: number[]) => Float64Array.from(times);

describe('a quantile of times with a horizon', () => {
  it('is the time of the ⌈share · N⌉-th path', () => {
    const ten = of(1, 2, 3, 4, 5, 6, 7, 8, 9, 10);
    expect(quantileWithinHorizon(ten, 0.1)).toBe(1);
    expect(quantileWithinHorizon(ten, 0.11)).toBe(2);
    expect(quantileWithinHorizon(ten, 0.5)).toBe(5);
    expect(quantileWithinHorizon(ten, 0.9)).toBe(9);
  });

  it('is a number only when that many paths arrived: one of ten is enough for P10, none is not', () => {
    const nine = Array.from({ length: 9 }, () => never);
    expect(quantileWithinHorizon(of(4, ...nine), 0.1)).toBe(4);
    expect(quantileWithinHorizon(of(4, ...nine), 0.5)).toBeUndefined();
    expect(quantileWithinHorizon(of(never, ...nine), 0.1)).toBeUndefined();
  });

  it('never mixes a path with the horizon: with 4 of 10 arrived P50 is unknown, not their last', () => {
    const four = of(1, 2, 3, 4, never, never, never, never, never, never);
    expect(quantileWithinHorizon(four, 0.4)).toBe(4);
    expect(quantileWithinHorizon(four, 0.5)).toBeUndefined();
  });

  it('takes ties as they are', () => {
    expect(quantileWithinHorizon(of(0, 0, 0, 0, 5), 0.5)).toBe(0);
    expect(quantileWithinHorizon(of(0, 0, 0, 0, 5), 0.9)).toBe(5);
  });

  it('is not moved by the last bit of share · N', () => {
    expect(quantileWithinHorizon(of(1, 2, 3), 0.1 + 0.2 + 1 / 30)).toBe(1); // 1.0000000000000002 of 3
  });

  it('refuses an empty list and a share out of range', () => {
    expect(() => quantileWithinHorizon(of(), 0.5)).toThrow(RangeError);
    expect(() => quantileWithinHorizon(of(1), 0)).toThrow(RangeError);
    expect(() => quantileWithinHorizon(of(1), Number.NaN)).toThrow(RangeError);
  });
});

describe('the chance by a time', () => {
  it('is (k + ½) / (N + 1): never 0, never 1', () => {
    const times = of(1, 2, 7, never);
    expect(chanceBy(times, 7)).toBeCloseTo(3.5 / 5, 12);
    expect(chanceBy(times, 6.999)).toBeCloseTo(2.5 / 5, 12);
    expect(chanceBy(times, 0)).toBeCloseTo(0.5 / 5, 12);
    expect(chanceBy(of(0, 0, 0), 3)).toBeCloseTo(3.5 / 4, 12);
  });
});
