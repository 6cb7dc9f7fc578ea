/** Turns the median absolute deviation of normal data into its standard deviation. */
const MAD_TO_SIGMA = 1.4826;
const HUBER_K = 1.345; // 95 % efficiency on normal data (Huber 1981)

/**
 * Middle value; the mean of the two middle ones for an even count.
 *
 * @param values  any order, at least one, all finite
 * @throws RangeError when empty (a caller's bug)
 */
export function median(values: readonly number[]): number {
  return percentile(values, 0.5);
}

/**
 * Percentile by linear interpolation between order statistics.
 *
 * @param values  any order, at least one, all finite
 * @param share   0–1
 * @throws RangeError when empty (a caller's bug)
 * @source Hyndman & Fan 1996, Am. Stat. 50:361, definition 7
 */
export function percentile(values: readonly number[], share: number): number {
  if (values.length === 0) throw new RangeError('A percentile needs at least one value.');
  const sorted = Float64Array.from(values).sort();
  const place = (sorted.length - 1) * share;
  const below = Math.floor(place);
  const low = sorted[below]!;
  const high = sorted[Math.min(below + 1, sorted.length - 1)]!;
  return low + (high - low) * (place - below);
}

/** Standard deviation by way of the median absolute deviation about a centre. */
export function robustSigma(values: readonly number[], centre: number): number {
  return MAD_TO_SIGMA * median(values.map((value) => Math.abs(value - centre)));
}

/**
 * Weighted mean in which far values count less: Huber's M-estimate of location, by re-weighting from the median.
 *
 * @param values   at least one, all finite
 * @param weights  one per value, ≥ 0, not all zero
 * @param sigma    scale of ordinary scatter, > 0
 * @source Huber 1964, Ann. Math. Stat. 35:73; re-weighted least squares, ten rounds
 */
export function huberMean(
  values: readonly number[],
  weights: readonly number[],
  sigma: number,
): number {
  let centre = median(values);
  for (let round = 0; round < 10; round++) {
    let sum = 0;
    let weightSum = 0;
    for (let i = 0; i < values.length; i++) {
      const far = Math.abs(values[i]! - centre) / (HUBER_K * sigma);
      const weight = weights[i]! / Math.max(1, far);
      sum += weight * values[i]!;
      weightSum += weight;
    }
    centre = sum / weightSum;
  }
  return centre;
}
