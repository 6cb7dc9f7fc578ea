import type { SeededRandom } from '../seeded-random.ts';

/** A figure with the 90 % interval of its resamples. */
export interface Interval {
  readonly value: number;
  readonly low: number;
  readonly high: number;
}

/**
 * Interval of a figure made of blocks that may be exchanged: a site's 30 days, never single outlooks, which overlap.
 *
 * @param blocks     how many there are, ≥ 1
 * @param figure     the figure for a given number of copies of each block
 * @param resamples  1000 in the score tables
 * @returns the figure of all blocks once, and the 5 % and 95 % points of resamples with replacement; resamples without a
 *          figure (NaN) are left out
 * @source Efron & Tibshirani 1993, An Introduction to the Bootstrap, ch. 13 (percentile interval); blocks: Künsch 1989, Ann.
 *         Stat. 17:1217
 */
export function blockBootstrap(
  blocks: number,
  figure: (copies: Uint16Array) => number,
  options: { readonly random: SeededRandom; readonly resamples?: number },
): Interval {
  const { random, resamples = 1000 } = options;
  const copies = new Uint16Array(blocks).fill(1);
  const value = figure(copies);
  const found: number[] = [];
  for (let sample = 0; sample < resamples; sample++) {
    copies.fill(0);
    for (let i = 0; i < blocks; i++) {
      const block = random.below(blocks);
      copies[block] = copies[block]! + 1;
    }
    const resampled = figure(copies);
    if (!Number.isNaN(resampled)) found.push(resampled);
  }
  found.sort((a, b) => a - b);
  const at = (share: number): number =>
    found.length === 0 ? Number.NaN : found[Math.round(share * (found.length - 1))]!;
  return { value, low: at(0.05), high: at(0.95) };
}
