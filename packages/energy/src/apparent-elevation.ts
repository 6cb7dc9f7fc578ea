import { tanDeg } from './angle.ts';

/** Centre of the sun when its upper edge touches a sea-level horizon: 0.5667° of refraction + 0.2667° of radius. */
const LOWEST_SEEN_ELEVATION_DEG = -0.8333; // Reda & Andreas 2004

/**
 * Elevation at which the sun is seen, after refraction by the air.
 *
 * @param elevationDeg  true elevation, −90 … 90
 * @param pressurePa    air pressure at the place, 30,000 … 110,000 Pa
 * @param temperatureC  air temperature, −60 … 60 °C
 * @returns degrees; unchanged below −0.8333°, where no part of the sun is seen
 * @accuracy 0.0001° on the published worked example, test/reference/energy/sun-position.test.ts
 * @source Reda & Andreas 2004, NREL/TP-560-34302, eq. 42
 */
export function apparentElevationDeg(
  elevationDeg: number,
  pressurePa: number,
  temperatureC: number,
): number {
  if (elevationDeg < LOWEST_SEEN_ELEVATION_DEG) return elevationDeg;
  const refractionDeg =
    ((pressurePa / 101_000) * (283 / (273 + temperatureC)) * 1.02) /
    (60 * tanDeg(elevationDeg + 10.3 / (elevationDeg + 5.11)));
  return elevationDeg + refractionDeg;
}
