import { describe, expect, it } from 'vitest';
import { randomFromState, seededRandom } from './seeded-random.ts';

describe('the seeded stream', () => {
  it('gives the published outputs of xoshiro128** from the state 1, 2, 3, 4', () => {
    // First ten outputs as printed in the test of the rand_xoshiro crate (Xoshiro128StarStar, MIT / Apache 2.0).
    const random = randomFromState([1, 2, 3, 4]);
    expect(Array.from({ length: 10 }, () => random.word())).toEqual([
      11520, 0, 5927040, 70819200, 2031721883, 1637235492, 1287239034, 3734860849, 3729100597,
      4258142804,
    ]);
  });

  it('repeats itself for a seed and differs for the next one, also above 32 bits', () => {
    const first = (seed: number) => seededRandom(seed).uniform();
    expect(first(7)).toBe(first(7));
    expect(first(7)).not.toBe(first(8));
    expect(first(7)).not.toBe(first(7 + 2 ** 32));
  });

  it('spreads uniforms evenly: 16 bins of 160,000 draws, χ² below its 99.9 % point', () => {
    const random = seededRandom(1);
    const bins = new Float64Array(16);
    for (let i = 0; i < 160_000; i++) {
      const bin = random.below(16);
      bins[bin] = bins[bin]! + 1;
    }
    const chiSquare = bins.reduce((sum, count) => sum + (count - 10_000) ** 2 / 10_000, 0);
    expect(chiSquare).toBeLessThan(37.7); // χ²(15) at 0.999, any table
  });

  it('gives normal deviates: mean, variance and tail as the normal law says', () => {
    const random = seededRandom(2);
    const count = 200_000;
    let sum = 0;
    let squares = 0;
    let beyond = 0;
    for (let i = 0; i < count; i++) {
      const deviate = random.normal();
      sum += deviate;
      squares += deviate * deviate;
      if (Math.abs(deviate) > 1.959964) beyond++;
    }
    expect(sum / count).toBeCloseTo(0, 2); // standard error 0.0022
    expect(Math.abs(squares / count - 1)).toBeLessThan(0.01); // standard error 0.0032
    expect(beyond / count).toBeCloseTo(0.05, 2); // standard error 0.0005
  });

  it('refuses a seed that is not a whole number', () => {
    expect(() => seededRandom(0.5)).toThrow(RangeError);
    expect(() => seededRandom(Number.NaN)).toThrow(RangeError);
  });
});
