/**
 * Whether what came lies in the range that was given. Beyond the horizon all is one: a range that reaches it holds "not within it".
 *
 * @param range     the ends; Infinity or undefined = beyond the horizon
 * @param observed  what came; Infinity = not within the horizon
 */
export function isCovered(
  range: { readonly low: number | undefined; readonly high: number | undefined },
  observed: number,
  horizon: number,
): boolean {
  const cut = (time: number | undefined): number => Math.min(time ?? horizon, horizon);
  return cut(range.low) <= cut(observed) && cut(observed) <= cut(range.high);
}
