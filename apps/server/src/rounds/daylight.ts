import { DAY_MS, type Position } from '@duskline/domain';
import { sunTimes } from '@duskline/energy';

export interface Daylight {
  readonly fromMs: number;
  readonly untilMs: number;
}

/** Sunrise to sunset at a site on a level horizon, from the day that holds `fromMs` on; polar nights are left out. */
export function daylightFrom(
  { latitudeDeg, longitudeDeg }: Position,
  fromMs: number,
  days: number,
): readonly Daylight[] {
  return Array.from({ length: days }, (_, i) => fromMs + i * DAY_MS).flatMap((dayMs) => {
    const sun = sunTimes(dayMs, latitudeDeg, longitudeDeg);
    if (sun.kind === 'normal') return [{ fromMs: sun.riseMs, untilMs: sun.setMs }];
    if (sun.kind === 'polar-night') return [];
    return [{ fromMs: sun.transitMs - DAY_MS / 2, untilMs: sun.transitMs + DAY_MS / 2 }];
  });
}

/** The last daylight of which something is left between now and then; undefined when there is none. */
export function lastDaylightBefore(
  position: Position,
  nowMs: number,
  byMs: number,
): Daylight | undefined {
  const end = Math.max(byMs, nowMs);
  return daylightFrom(position, end - DAY_MS, 3)
    .filter(({ fromMs, untilMs }) => untilMs > nowMs && fromMs < end)
    .map(({ fromMs, untilMs }) => ({
      fromMs: Math.max(fromMs, nowMs),
      untilMs: Math.min(untilMs, end),
    }))
    .filter(({ fromMs, untilMs }) => untilMs > fromMs)
    .at(-1);
}
