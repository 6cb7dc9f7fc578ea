/** From here down a panel gives no voltage at all. */
const GONE = 1;

/**
 * The step at the end of a series: the newest value, and the one before it; where the newest ones are all gone, the last
 * that was not. A node that speaks once an hour tells of several readings after the step.
 *
 * @returns [before, last], or fewer where fewer are known
 */
export function lastStep(values: readonly number[]): readonly number[] {
  const last = values.at(-1);
  if (last === undefined || last >= GONE) return values.slice(-2);
  const before = values.findLast((value) => value >= GONE);
  return before === undefined ? values.slice(-2) : [before, last];
}
