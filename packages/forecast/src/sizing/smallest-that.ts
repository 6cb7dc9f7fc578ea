/** One size is as good as another within this share. */
const CLOSE_ENOUGH = 0.02;
const MOST_STEPS = 40;

/**
 * The smallest size that will do, where a larger one always does if a smaller one does.
 *
 * @param willDo  monotone: false below, true above
 * @param range   sizes to look between, 0 < least < most
 * @returns within 2 % above the threshold; `least` when that will do; undefined when `most` will not
 * @source ours: halving of the ratio
 */
export function smallestThat(
  willDo: (size: number) => boolean,
  range: readonly [least: number, most: number],
): number | undefined {
  let [low, high] = range;
  if (!willDo(high)) return undefined;
  if (willDo(low)) return low;
  for (let step = 0; step < MOST_STEPS && high / low > 1 + CLOSE_ENOUGH; step += 1) {
    const middle = Math.sqrt(low * high);
    if (willDo(middle)) high = middle;
    else low = middle;
  }
  return high;
}
