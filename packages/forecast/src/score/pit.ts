/**
 * Probability integral transform of what came, spread evenly over the step it falls on: uniform on 0 … 1 when the forecasts are
 * right as often as they say.
 *
 * @param members   times of the ensemble, at least one; Infinity = not within the horizon
 * @param observed  what came; Infinity likewise
 * @param horizon   times beyond it are one
 * @param uniform   0 ≤ u < 1, drawn by the caller
 * @source Czado, Gneiting & Held 2009, Biometrics 65:1254, eq. 1
 */
export function randomisedPit(
  members: ArrayLike<number>,
  observed: number,
  horizon: number,
  uniform: number,
): number {
  const truth = Math.min(observed, horizon);
  let below = 0;
  let same = 0;
  for (let i = 0; i < members.length; i++) {
    const time = Math.min(members[i]!, horizon);
    if (time < truth) below++;
    else if (time === truth) same++;
  }
  // The truth is one more draw: N members leave N + 1 places for it.
  return (below + uniform * (same + 1)) / (members.length + 1);
}
