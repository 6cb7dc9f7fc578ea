import { DAY_MS } from '@duskline/domain';
import { requireFinite } from './require-number.ts';

/** [M] Gueymard 2018, Solar Energy 168:373 (revision of ASTM E490): value from memory. */
export const SOLAR_CONSTANT_WM2 = 1361.1;

const DAYS_PER_ERA = 146_097;
/** Days from 1 March of year 0 to 1 January 1970. */
const EPOCH_DAY = 719_468;
/** Days from 1 March to 1 January. */
const MARCH_TO_JANUARY = 306;

/**
 * Day number within the UTC year. By whole numbers alone: a forecast asks thousands of times, and a `Date` costs as much as
 * the sun's distance it is wanted for.
 *
 * @param atMs  instant, Unix milliseconds
 * @returns 1 … 366
 * @accuracy exact: extraterrestrial-normal.test.ts, against `Date` for every day of 1900 … 2100
 * @source days of the proleptic Gregorian calendar counted from March: Hinnant, chrono-Compatible Low-Level Date Algorithms
 */
export function dayOfYear(atMs: number): number {
  const days = Math.floor(atMs / DAY_MS) + EPOCH_DAY;
  const era = Math.floor(days / DAYS_PER_ERA);
  const dayOfEra = days - era * DAYS_PER_ERA;
  const year = Math.floor(
    (dayOfEra -
      Math.floor(dayOfEra / 1460) +
      Math.floor(dayOfEra / 36_524) -
      Math.floor(dayOfEra / 146_096)) /
      365,
  );
  const fromMarch = dayOfEra - (365 * year + Math.floor(year / 4) - Math.floor(year / 100));
  if (fromMarch >= MARCH_TO_JANUARY) return fromMarch - MARCH_TO_JANUARY + 1;
  const isLeap = year % 4 === 0 && (year % 100 !== 0 || year === 0);
  return fromMarch + (isLeap ? 61 : 60);
}

/**
 * Sunlight above the air, on a surface facing the sun: the solar constant with the year's change of distance.
 *
 * @param atMs  instant, Unix milliseconds
 * @returns W/m², 1315 … 1409; constant within a UTC day
 * @throws EnergyInputError when the instant is not finite
 * @accuracy 0.01 W/m² against test/reference/energy/extraterrestrial.test.ts (10 days); 1.4 W/m² against the exact orbit
 * @source Spencer 1971, Search 2(5):172, Fourier series of the distance
 */
export function extraterrestrialNormalWm2(atMs: number): number {
  requireFinite('atMs', atMs);
  const angle = (2 * Math.PI * (dayOfYear(atMs) - 1)) / 365;
  return (
    SOLAR_CONSTANT_WM2 *
    (1.00011 +
      0.034221 * Math.cos(angle) +
      0.00128 * Math.sin(angle) +
      0.000719 * Math.cos(2 * angle) +
      0.000077 * Math.sin(2 * angle))
  );
}
