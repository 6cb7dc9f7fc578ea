import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { selectRanks } from './select-ranks.ts';

describe('the values at given ranks', () => {
  it('of a hand-sorted list are its 1st, 3rd and last', () => {
    expect(selectRanks(Float32Array.from([1, 0.25, 0.75, 0, 0.5]), [0, 2, 4])).toEqual([0, 0.5, 1]);
  });

  it('are those of the platform’s own sort, ties included', () => {
    fc.assert(
      fc.property(
        fc.array(
          fc.oneof(fc.integer({ min: 0, max: 40 }), fc.double({ min: 9, max: 9.001, noNaN: true })),
          { minLength: 1, maxLength: 200 },
        ),
        fc.array(fc.double({ min: 0, max: 1, noNaN: true }), { minLength: 1, maxLength: 4 }),
        (numbers, shares) => {
          const values = Float32Array.from(numbers, (number) => number / 40);
          const ranks = shares.map((share) => Math.round(share * (numbers.length - 1)));
          const sorted = Float32Array.from(values).sort();
          expect(selectRanks(values, ranks)).toEqual(ranks.map((rank) => sorted[rank]));
        },
      ),
      { seed: 20_261_126, numRuns: 500 },
    );
  });
});
