import { DAY_MS, MINUTE_MS } from '@duskline/domain';
import { acosDeg, cosDeg, RADIANS_PER_DEGREE, sinDeg, tanDeg } from './angle.ts';
import { requireFinite } from './require-number.ts';

export interface SunPosition {
  /** From straight up, true (without refraction). */
  readonly zenithDeg: number;
  /** From north, clockwise, 0 … 360. */
  readonly azimuthDeg: number;
  readonly declinationDeg: number;
  /** Apparent minus mean solar time. */
  readonly equationOfTimeMin: number;
}

const UNIX_EPOCH_JULIAN_DAY = 2_440_587.5;
const J2000_JULIAN_DAY = 2_451_545;
const DAYS_PER_JULIAN_CENTURY = 36_525;

/**
 * Where the sun stands, by Meeus's low-accuracy series in the form of the NOAA solar calculator.
 *
 * Refraction is left out: see `apparentElevationDeg`. The minute between universal and terrestrial time
 * moves the sun by less than 0.001° and is left out too.
 *
 * @param atMs          instant, Unix milliseconds, 1900 … 2100
 * @param latitudeDeg   −90 … 90, north positive
 * @param longitudeDeg  −180 … 180, east positive
 * @returns true zenith and azimuth in degrees, declination in degrees, equation of time in minutes; the azimuth means
 *          nothing within some degrees of the zenith and at the poles
 * @throws EnergyInputError when the instant or the place is not finite
 * @accuracy zenith 0.013°, azimuth 0.034° (zenith > 3°), equation of time 0.045 min against full SPA,
 *           test/reference/energy/sun-position.test.ts (486 cases)
 * @source Meeus, Astronomical Algorithms, 2nd ed. 1998, ch. 25 and 28; NOAA Global Monitoring Laboratory solar calculator
 */
export function sunPosition(atMs: number, latitudeDeg: number, longitudeDeg: number): SunPosition {
  requireFinite('atMs', atMs);
  requireFinite('latitudeDeg', latitudeDeg);
  requireFinite('longitudeDeg', longitudeDeg);

  const century =
    (atMs / DAY_MS + UNIX_EPOCH_JULIAN_DAY - J2000_JULIAN_DAY) / DAYS_PER_JULIAN_CENTURY;
  const meanLongitudeDeg = 280.46646 + century * (36_000.76983 + 0.0003032 * century);
  const anomalyDeg = 357.52911 + century * (35_999.05029 - 0.0001537 * century);
  const eccentricity = 0.016708634 - century * (0.000042037 + 0.0000001267 * century);
  const sinAnomaly = sinDeg(anomalyDeg);
  const sinTwoAnomaly = sinDeg(2 * anomalyDeg);
  const centreDeg =
    sinAnomaly * (1.914602 - century * (0.004817 + 0.000014 * century)) +
    sinTwoAnomaly * (0.019993 - 0.000101 * century) +
    sinDeg(3 * anomalyDeg) * 0.000289;
  const nodeDeg = 125.04 - 1934.136 * century;
  const apparentLongitudeDeg = meanLongitudeDeg + centreDeg - 0.00569 - 0.00478 * sinDeg(nodeDeg);
  const meanObliquityDeg =
    23 + (26 + (21.448 - century * (46.815 + century * (0.00059 - 0.001813 * century))) / 60) / 60;
  const obliquityDeg = meanObliquityDeg + 0.00256 * cosDeg(nodeDeg);

  const sinDeclination = sinDeg(obliquityDeg) * sinDeg(apparentLongitudeDeg);
  const cosDeclination = Math.sqrt(1 - sinDeclination * sinDeclination);
  const halfObliquityTan = tanDeg(obliquityDeg / 2);
  const y = halfObliquityTan * halfObliquityTan;
  const sinTwoLongitude = sinDeg(2 * meanLongitudeDeg);
  const cosTwoLongitude = cosDeg(2 * meanLongitudeDeg);
  const equationOfTimeMin =
    (4 / RADIANS_PER_DEGREE) *
    (y * sinTwoLongitude -
      2 * eccentricity * sinAnomaly +
      4 * eccentricity * y * sinAnomaly * cosTwoLongitude -
      y * y * sinTwoLongitude * cosTwoLongitude - // ½ y² sin 4L
      1.25 * eccentricity * eccentricity * sinTwoAnomaly);

  const utcMinutes = (atMs - Math.floor(atMs / DAY_MS) * DAY_MS) / MINUTE_MS;
  const hourAngleDeg = (utcMinutes + equationOfTimeMin + 4 * longitudeDeg) / 4 - 180;
  const sinLatitude = sinDeg(latitudeDeg);
  const cosLatitude = cosDeg(latitudeDeg);
  const cosHourAngle = cosDeg(hourAngleDeg);
  const azimuthDeg =
    Math.atan2(
      sinDeg(hourAngleDeg),
      cosHourAngle * sinLatitude - (sinDeclination / cosDeclination) * cosLatitude,
    ) /
      RADIANS_PER_DEGREE +
    180;

  return {
    zenithDeg: acosDeg(sinLatitude * sinDeclination + cosLatitude * cosDeclination * cosHourAngle),
    azimuthDeg: azimuthDeg >= 360 ? azimuthDeg - 360 : azimuthDeg,
    declinationDeg: Math.asin(sinDeclination) / RADIANS_PER_DEGREE,
    equationOfTimeMin,
  };
}
