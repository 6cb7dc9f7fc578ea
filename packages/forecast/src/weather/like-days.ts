import { firstAtLeast } from '../learn/donors.ts';
import type { SeededRandom } from '../seeded-random.ts';

/** Finds days of the pool of about a given yield. */
export interface LikeDays {
  /** A random one of the nearest: an index into the pool. */
  draw(random: SeededRandom, ratio: number): number;
}

const NEAREST = 15;
const NEAREST_SHARE = 4;
const STEPS_PER_RATIO = 48;
const STEPS = 72;

/**
 * The days most like a given one: the nearest 15 by yield ratio, or a quarter of a smaller pool.
 *
 * @param typical   ratio of each pool day
 * @param eligible  indices that may be drawn, at least one
 */
export function likeDays(typical: readonly number[], eligible: readonly number[]): LikeDays {
  const sorted = [...eligible].sort((a, b) => typical[a]! - typical[b]! || a - b);
  const ratios = Float64Array.from(sorted, (index) => typical[index]!);
  // Where to begin to look, by steps of the ratio: a path asks for every day of its sixty.
  const starts = Int32Array.from({ length: STEPS + 1 }, (_, step) =>
    firstAtLeast(ratios, step / STEPS_PER_RATIO),
  );
  const keep = Math.min(NEAREST, Math.max(1, Math.ceil(sorted.length / NEAREST_SHARE)));
  const half = Math.floor(keep / 2);
  return {
    draw: (random, ratio) => {
      let first = starts[Math.min(STEPS, Math.max(0, Math.trunc(ratio * STEPS_PER_RATIO)))]!;
      while (first < ratios.length && ratios[first]! < ratio) first++;
      const from = Math.min(sorted.length - keep, Math.max(0, first - half));
      return sorted[from + random.below(keep)]!;
    },
  };
}
