import { DAY_MS } from '@duskline/domain';
import { requireFinite } from './require-number.ts';

/** [M] Gueymard 2018, Solar Energy 168:373 (revision of ASTM E490): value from memory. */
export const SOLAR_CONSTANT_WM2 = 1361.1;

/**
 * Day number within the UTC year.
 *
 * @param atMs  instant, Unix milliseconds
 * @returns 1 … 366
 */
export function dayOfYear(atMs: number): number {
  const year = new Date(atMs).getUTCFullYear();
  return Math.floor((atMs - Date.UTC(year, 0, 1)) / DAY_MS) + 1;
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
