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
  const midnightMs = Math.floor(dayMs / DAY_MS) * DAY_MS;
  const meanNoonMs = midnightMs + DAY_MS / 2 - 4 * place.longitudeDeg * MINUTE_MS;
  let noonMs = meanNoonMs;
  for (let round = 0; round < 2; round += 1) {
    const { equationOfTimeMin } = sunPosition(noonMs, place.latitudeDeg, place.longitudeDeg);
    noonMs = meanNoonMs - equationOfTimeMin * MINUTE_MS;
  }
  return noonMs;
}
