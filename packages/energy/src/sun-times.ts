import { DAY_MS } from '@duskline/domain';
import { crossingMs } from './crossing.ts';
import { requireWithin } from './require-number.ts';
import { solarNoonMs } from './solar-noon.ts';
import { sunPosition } from './sun-position.ts';

export type SunTimes =
  | {
      readonly kind: 'normal';
      readonly riseMs: number;
      readonly transitMs: number;
      readonly setMs: number;
    }
  | { readonly kind: 'polar-day' | 'polar-night'; readonly transitMs: number };

/** True zenith of the sun's centre when its upper edge meets a level horizon: 90° + 34′ refraction + 16′ radius. Meeus ch. 15. */
export const HORIZON_ZENITH_DEG = 90.833;

const HALF_DAY_MS = DAY_MS / 2;

/**
 * Sunrise, solar noon and sunset around the solar noon of one UTC calendar day, on a level horizon.
 *
 * The three belong together: rise < transit < set always, so far from Greenwich rise or set may lie in a neighbouring
 * UTC day. (Noon itself may leave the UTC day by the equation of time, ≤ 17 min, near longitude ±180.)
 *
 * @param dayMs         any instant of the UTC calendar day, Unix ms
 * @param latitudeDeg   −90 … 90
 * @param longitudeDeg  −180 … 180
 * @returns Unix ms; 'polar-night' when the sun stays down at noon, 'polar-day' when it does not both rise and set around that
 *          noon (so also on the one day that has only a rise or only a set)
 * @throws EnergyInputError when the place is out of range
 * @accuracy 0.06 min below 60° and 1.3 min beyond against full SPA (95 cases), 0.12 and 0.34 min against an independent
 *           ephemeris (150 cases): test/reference/energy/sun-times.test.ts
 * @source Meeus, Astronomical Algorithms, ch. 15, with the crossing solved instead of interpolated
 */
export function sunTimes(dayMs: number, latitudeDeg: number, longitudeDeg: number): SunTimes {
  requireWithin('latitudeDeg', latitudeDeg, [-90, 90]);
  requireWithin('longitudeDeg', longitudeDeg, [-180, 180]);
  const place = { latitudeDeg, longitudeDeg };
  const transitMs = solarNoonMs(dayMs, place);
  const depression = (atMs: number): number =>
    sunPosition(atMs, latitudeDeg, longitudeDeg).zenithDeg - HORIZON_ZENITH_DEG;
  if (depression(transitMs) > 0) return { kind: 'polar-night', transitMs };
  const riseMs = crossingMs(depression, transitMs - HALF_DAY_MS, transitMs);
  const setMs = crossingMs(depression, transitMs, transitMs + HALF_DAY_MS);
  if (riseMs === undefined || setMs === undefined) return { kind: 'polar-day', transitMs };
  return { kind: 'normal', riseMs, transitMs, setMs };
}
