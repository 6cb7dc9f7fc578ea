import { HOUR_MS, sayMoment } from '@duskline/domain';
import { visitText } from '../text/visit.ts';
import { sayHours } from './say-trip.ts';
import type { SoonestStart } from './soonest-start.ts';

/**
 * When a round can be driven, by the daylight there, and why not sooner.
 *
 * @param about.byMs   the earliest latest safe date of its stops
 * @param about.hours  length of the round
 * @param about.stops  how many sites
 */
export function sayStart(
  start: SoonestStart,
  about: {
    readonly hours: number;
    readonly byMs: number;
    readonly timeZone: string;
    readonly stops: number;
  },
): string {
  const words = visitText.rounds.start;
  const moment = sayMoment(start.atMs, about.timeZone);
  const trip = sayHours(about.hours);
  const late = start.atMs > about.byMs ? ` ${words.late}` : '';
  switch (start.kind) {
    case 'in-light':
      return words.inLight(moment) + late;
    case 'not-today':
      return words.notToday(left(start.lightMs), trip, moment) + late;
    case 'into-dark':
      return words.intoDark(left(start.lightMs), trip) + words.intoDarkSo(moment, about.stops);
    case 'too-long':
      return words.tooLong(left(start.lightMs), trip) + late;
    case 'no-light':
      return words.noLight;
  }
}

/** Undefined: nothing is left. */
const left = (lightMs: number): string | undefined =>
  lightMs <= 0 ? undefined : sayHours(lightMs / HOUR_MS);
