import { DARK_MARGIN_MS, HOUR_MS, MINUTE_MS } from '@duskline/domain';

const USUAL_TRIP_MS = 4 * HOUR_MS;
/** Who sets out much sooner than planned says themselves when to be looked for. */
const SOON_MS = 2 * HOUR_MS;
const LEAST_MS = HOUR_MS;

/**
 * A time to be back by that may stand in the field before anybody has typed: four hours after setting out, but half an
 * hour before dark as long as that leaves an hour. While the planned time is far off there is none: a time of today would be wrong for
 * a trip of tomorrow.
 *
 * @param sunsetMs  of that day; undefined: not known
 * @returns instant, ms, on five minutes
 */
export function usualBackBy(
  plannedMs: number,
  nowMs: number,
  sunsetMs?: number,
): number | undefined {
  if (plannedMs - nowMs > SOON_MS) return undefined;
  const startMs = Math.max(plannedMs, nowMs);
  const usualMs = startMs + USUAL_TRIP_MS;
  const darkMs = sunsetMs === undefined ? -Infinity : sunsetMs - DARK_MARGIN_MS;
  const isLight = darkMs - startMs >= LEAST_MS;
  const backMs = isLight ? Math.min(usualMs, darkMs) : usualMs;
  return Math.floor(backMs / (5 * MINUTE_MS)) * 5 * MINUTE_MS;
}
