/**
 * Continuous ranked probability score of an ensemble for a time censored at a horizon: all times are cut there, which keeps it
 * proper (threshold-weighted). Lower is better, in the unit of the times; for a single member it is the absolute error.
 *
 * @source Gneiting & Raftery 2007, J. Am. Stat. Assoc. 102:359, eq. 21: E|X − y| − ½ E|X − X′|; Gneiting & Ranjan 2011,
 *         J. Bus. Econ. Stat. 29:411 for the weighting
 */
export function crps(members: ArrayLike<number>, observed: number, horizon: number): number {
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

/** Brier score of one probability: its squared error. */
export const brier = (probability: number, happened: boolean): number =>
  (probability - (happened ? 1 : 0)) ** 2;

export const mean = (values: readonly number[]): number =>
  values.reduce((sum, value) => sum + value, 0) / values.length;

/** Share of the reference's score that was saved: 1 perfect, 0 no better, negative worse. */
export const skill = (scores: readonly number[], reference: readonly number[]): number =>
  1 - mean(scores) / mean(reference);
