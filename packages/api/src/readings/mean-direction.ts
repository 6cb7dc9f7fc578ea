const DEG = Math.PI / 180;
/** Below this length of the mean vector the directions cancel out and its angle is rounding noise. */
const NO_DIRECTION = 1e-9;

/**
 * The direction of the mean vector, all of length one.
 *
 * @param directionsDeg length ≥ 1, finite
 * @returns 0 … < 360; the last direction where they cancel out
 * @source World Meteorological Organization, Guide to Instruments and Methods of Observation (WMO-No. 8): wind direction
 *         is averaged as a vector (from memory)
 */
export function meanDirectionDeg(directionsDeg: readonly number[]): number {
  let east = 0;
  let north = 0;
  for (const directionDeg of directionsDeg) {
    east += Math.sin(directionDeg * DEG);
    north += Math.cos(directionDeg * DEG);
  }
  return (
    directionOfVector({ east, north }, directionsDeg.length) ?? within(directionsDeg.at(-1) ?? 0)
  );
}

/**
 * The direction of a sum of vectors of length one.
 *
 * @returns 0 … < 360; undefined where they cancel out
 */
export function directionOfVector(
  sum: { readonly east: number; readonly north: number },
  count: number,
): number | undefined {
  if (Math.hypot(sum.east, sum.north) / count < NO_DIRECTION) return undefined;
  return within(Math.atan2(sum.east, sum.north) / DEG);
}

const within = (deg: number): number => ((deg % 360) + 360) % 360;
