import { DAY_MS, MINUTE_MS } from '@duskline/domain';
import { sunPosition } from './sun-position.ts';

/**
 * Solar noon of a UTC calendar day: the instant when apparent solar time is 12 h.
 *
 * @returns Unix ms
 */
export function solarNoonMs(
  dayMs: number,
  place: { readonly latitudeDeg: number; readonly longitudeDeg: number },
): number {
  const meanMs = meanNoonMs(dayMs, place.longitudeDeg);
  let noonMs = meanMs;
  for (let round = 0; round < 2; round += 1) {
    const { equationOfTimeMin } = sunPosition(noonMs, place.latitudeDeg, place.longitudeDeg);
    noonMs = meanMs - equationOfTimeMin * MINUTE_MS;
  }
  return noonMs;
}

/** Noon of mean solar time of a UTC calendar day, Unix ms; the true one is at most 17 minutes from it. */
export const meanNoonMs = (dayMs: number, longitudeDeg: number): number =>
  Math.floor(dayMs / DAY_MS) * DAY_MS + DAY_MS / 2 - 4 * longitudeDeg * MINUTE_MS;
