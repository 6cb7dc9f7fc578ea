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
  const cancelled = Math.hypot(east, north) / directionsDeg.length < NO_DIRECTION;
  const deg = cancelled ? (directionsDeg.at(-1) ?? 0) : Math.atan2(east, north) / DEG;
  return ((deg % 360) + 360) % 360;
}
