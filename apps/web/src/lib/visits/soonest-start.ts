import { DARK_MARGIN_MS, HOUR_MS, MINUTE_MS } from '@duskline/domain';
import { instantMs } from '../format/time.ts';
import type { PlanStop } from './plan-stop.ts';
import { latestMsOf } from './say-latest.ts';

/** Work at a site with a little of the way; only to choose a first time by. */
export const TRIP_MS = 2 * HOUR_MS;
/** To get ready in. */
const READY_MS = 30 * MINUTE_MS;
/** Less daylight than this is not begun with. */
const LEAST_LIGHT_MS = 1.5 * HOUR_MS;

const roundedUp = (atMs: number): number => Math.ceil(atMs / (5 * MINUTE_MS)) * 5 * MINUTE_MS;

/** When to set out, and how that goes with the daylight there. `lightMs`: what is left of it, without the half hour kept in hand. */
export type SoonestStart = { readonly atMs: number } &
  /** All of it is over before dark. */
  (
    | { readonly kind: 'in-light' }
    /** Too little is left of today. */
    | { readonly kind: 'not-today'; readonly lightMs: number }
    /** Waiting for the next light would miss the latest safe date: it ends in the dark. */
    | { readonly kind: 'into-dark'; readonly lightMs: number }
    /** It is longer than a day’s light. */
    | { readonly kind: 'too-long'; readonly lightMs: number }
    | { readonly kind: 'no-light' }
  );

/**
 * The soonest sensible moment to set out, by the daylight at the first stop: today when the whole trip is over half an hour
 * before dark; today also when waiting for tomorrow's light would miss the earliest latest safe date and there is light enough
 * for the first stop; else the next first light.
 *
 * @param stops   in driving order, at least one
 * @param tripMs  length of the whole trip
 * @returns on five minutes; half an hour from now where nothing is known of daylight
 */
export function soonestStart(
  stops: readonly PlanStop[],
  tripMs: number,
  nowMs: number,
): SoonestStart {
  const readyMs = roundedUp(nowMs + READY_MS);
  const neededMs = Math.max(tripMs, LEAST_LIGHT_MS);
  const [first, next] = (stops[0]?.daylight ?? [])
    .map(({ from, until }) => {
      const atMs = Math.max(readyMs, roundedUp(instantMs(from)));
      return { atMs, lightMs: instantMs(until) - DARK_MARGIN_MS - atMs };
    })
    .filter(({ lightMs }) => lightMs > -DARK_MARGIN_MS)
    .sort((a, b) => a.atMs - b.atMs);
  if (first === undefined) return { kind: 'no-light', atMs: readyMs };
  const { atMs, lightMs } = first;
  if (lightMs >= neededMs) return { kind: 'in-light', atMs };
  // Its light has not begun yet, and no later day is longer by much.
  if (atMs > readyMs) return { kind: 'too-long', atMs, lightMs };
  const dueMs = Math.min(...stops.map(({ need }) => latestMsOf(need) ?? Infinity));
  if (next === undefined || (dueMs < next.atMs && lightMs >= LEAST_LIGHT_MS))
    return { kind: 'into-dark', atMs, lightMs };
  return next.lightMs >= neededMs
    ? { kind: 'not-today', atMs: next.atMs, lightMs }
    : { kind: 'too-long', atMs: next.atMs, lightMs: next.lightMs };
}
