import type { FieldSheetJson } from '@duskline/contract';
import { DARK_MARGIN_MS, lightOf, MINUTE_MS, nextLight, sayMoment } from '@duskline/domain';
import { instantMs, zonedClock } from '../format/time.ts';
import { visitText } from '../text/visit.ts';
import { usualBackBy } from './usual-back-by.ts';

/** What the light says of a trip, and by when its people may be looked for. */
export interface TripLight {
  /** A note of safety, of the light in which the trip is made; it forbids nothing. Empty: nothing is known of the light. */
  readonly says: string;
  readonly isDark: boolean;
  /** A time to be back by that may stand in the field before anybody has typed; undefined: none. */
  readonly backByMs: number | undefined;
}

/**
 * How a trip that sets out goes with the daylight there. Set out in the dark it is the light to come that counts: a sunset that
 * is past is no time to be back by.
 *
 * @param plannedMs  when they meant to set out; who sets out later sets out now
 */
export function tripLight(
  { daylight, timeZone }: Pick<FieldSheetJson, 'daylight' | 'timeZone'>,
  plannedMs: number,
  nowMs: number,
): TripLight {
  const words = visitText.visit;
  const days = daylight.map(({ from, until }) => ({
    fromMs: instantMs(from),
    untilMs: instantMs(until),
  }));
  const startMs = Math.max(plannedMs, nowMs);
  const light = lightOf(days, startMs);
  const backByMs = usualBackBy(plannedMs, nowMs, light?.untilMs);
  if (light === undefined) return { says: '', isDark: false, backByMs };
  const clock = (atMs: number): string => zonedClock(atMs, timeZone);
  const homeMs = light.untilMs - DARK_MARGIN_MS;
  const risesMs = nextLight(days, startMs);
  if (risesMs !== undefined)
    return {
      says: (startMs - nowMs < MINUTE_MS ? words.darkNow : words.darkThen)(
        sayMoment(risesMs, timeZone),
        sayMoment(homeMs, timeZone),
      ),
      isDark: true,
      backByMs,
    };
  return {
    says:
      backByMs !== undefined && backByMs > homeMs
        ? words.darkSoon(clock(light.untilMs))
        : words.dark(clock(light.untilMs), clock(homeMs)),
    isDark: false,
    backByMs,
  };
}
