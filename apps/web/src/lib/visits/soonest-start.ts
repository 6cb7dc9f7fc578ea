import { HOUR_MS, MINUTE_MS } from '@duskline/domain';
import { instantMs } from '../format/time.ts';
import type { PlanStop } from './plan-stop.ts';

/** To get ready in. */
const READY_MS = 30 * MINUTE_MS;
/** Less daylight than this is not begun with. */
const LEAST_LIGHT_MS = 1.5 * HOUR_MS;

const roundedUp = (atMs: number): number => Math.ceil(atMs / (5 * MINUTE_MS)) * 5 * MINUTE_MS;

/**
 * The soonest sensible moment to set out, by the daylight at the first stop: today when the whole trip is over before dark;
 * today also when waiting for tomorrow's light would miss the earliest latest safe date and there is light enough for the
 * first stop (what comes after dark is said by the form); else the next first light.
 *
 * @param stops   in driving order, at least one
 * @param tripMs  length of the whole trip
 * @returns instant, ms, on five minutes; half an hour from now where nothing is known of daylight
 */
export function soonestStart(stops: readonly PlanStop[], tripMs: number, nowMs: number): number {
  const readyMs = roundedUp(nowMs + READY_MS);
  const days = (stops[0]?.daylight ?? [])
    .map(({ from, until }) => ({ fromMs: instantMs(from), untilMs: instantMs(until) }))
    .filter(({ untilMs }) => untilMs > readyMs)
    .sort((a, b) => a.fromMs - b.fromMs);
  const [day, next] = days;
  if (day === undefined) return readyMs;
  // Its light has not begun yet: nothing is sooner.
  if (day.fromMs > readyMs || next === undefined) return Math.max(readyMs, roundedUp(day.fromMs));
  const leftMs = day.untilMs - readyMs;
  if (leftMs >= Math.max(tripMs, LEAST_LIGHT_MS)) return readyMs;
  const dueMs = Math.min(
    ...stops.flatMap(({ need }) =>
      need.kind === 'by' && need.at !== null ? [instantMs(need.at)] : [],
    ),
  );
  const nextMs = roundedUp(next.fromMs);
  return dueMs < nextMs && leftMs >= LEAST_LIGHT_MS ? readyMs : nextMs;
}
