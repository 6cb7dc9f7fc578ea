/**
 * Continuous ranked probability score of an ensemble of times, all cut at the horizon: the threshold-weighted CRPS, proper for
 * times that are watched no longer than that.
 *
 * @param members   times, any order, at least one; Infinity = not within the horizon
 * @param observed  what came; Infinity likewise
 * @param horizon   the same unit, > 0
 * @returns the unit of the times; 0 = certain and right; for one member the absolute error
 * @throws RangeError without members (a caller's bug)
 * @accuracy closed forms of the uniform, the normal and of point forecasts: crps.test.ts
 * @source E|X − y| − ½E|X − X′|: Gneiting & Raftery 2007, J. Am. Stat. Assoc. 102:359, eq. 21; weighting by the threshold:
 *         Gneiting & Ranjan 2011, J. Bus. Econ. Stat. 29:411
 */
export function crpsWithinHorizon(
  members: ArrayLike<number>,
  observed: number,
  horizon: number,
): number {
  if (members.length === 0) throw new RangeError('A score needs at least one member.');
  const times = Float64Array.from(members, (time) => Math.min(time, horizon)).sort();
  const count = times.length;
  const truth = Math.min(observed, horizon);
  let error = 0;
  let spread = 0;
  for (let i = 0; i < count; i++) {
    error += Math.abs(times[i]! - truth);
    spread += (2 * i + 1 - count) * times[i]!;
  }
  return error / count - spread / (count * count);
}
