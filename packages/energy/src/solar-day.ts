import { DAY_MS, HOUR_MS } from '@duskline/domain';
import { requireWithin } from './require-number.ts';

/**
 * Start of the solar day that holds an instant: midnight of local mean solar time, which no clock change moves.
 *
 * @param atMs          instant, Unix ms
 * @param longitudeDeg  −180 … 180, east positive
 * @returns Unix ms, ≤ atMs, within one day
 * @throws EnergyInputError when the longitude is out of range
 * @source definition: local mean solar time = UTC + longitude / 15 h
 */
export function solarDayStartMs(atMs: number, longitudeDeg: number): number {
  requireWithin('longitudeDeg', longitudeDeg, [-180, 180]);
  const offsetMs = (longitudeDeg / 15) * HOUR_MS;
  return Math.floor((atMs + offsetMs) / DAY_MS) * DAY_MS - offsetMs;
}
