/** Guards 0.1 · N against the last bit of the product: 0.1 · 3 is a hair above 0.3. */
const ROUNDING = 1e-9;

/**
 * Quantile of times of which some lie beyond the horizon: the time by which a share of all paths has arrived.
 *
 * The inverse of the empirical distribution, with no interpolation: between two paths, or between a path and the horizon,
 * there is nothing that could be reported honestly.
 *
 * @param sortedTimes  ascending; Infinity = not within the horizon; length ≥ 1
 * @param share        0 < share ≤ 1, e.g. 0.1 for P10
 * @returns the ⌈share · N⌉-th time in the caller's unit; undefined when fewer than that many paths arrived
 * @throws RangeError when there are no times or the share is out of range (a caller's bug)
 * @source Hyndman & Fan 1996, Am. Stat. 50:361, definition 1
 */
export function quantileWithinHorizon(
  sortedTimes: Float64Array,
  share: number,
): number | undefined {
  if (sortedTimes.length === 0) throw new RangeError('A quantile needs at least one path.');
  if (!(share > 0 && share <= 1)) throw new RangeError(`A share lies in (0, 1]: ${share}.`);
  const time = sortedTimes[rankOf(sortedTimes.length, share)]!;
  return Number.isFinite(time) ? time : undefined;
}

/** Index of that path among `count` sorted ones, from 0. */
export function rankOf(count: number, share: number): number {
  return Math.max(1, Math.ceil(share * count - ROUNDING)) - 1;
}

/**
 * Chance that a path arrives by a time, never quite 0 or 1: N paths cannot show either.
 *
 * @param sortedTimes  ascending; Infinity = not within the horizon
 * @param by           same unit as the times; a path arriving exactly then counts
 * @returns (k + ½) / (N + 1) for k of N paths
 * @source ours: half a path on either side, near the mean of a proportion under Jeffreys's prior
 */
export function chanceBy(sortedTimes: Float64Array, by: number): number {
  let arrived = 0;
  while (arrived < sortedTimes.length && sortedTimes[arrived]! <= by) arrived++;
  return (arrived + 0.5) / (sortedTimes.length + 1);
}
