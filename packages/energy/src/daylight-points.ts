import { HOUR_MS, type Position } from '@duskline/domain';
import { nightsBetween } from './nights-between.ts';

/** Half spacing of the two points of Gauss–Legendre quadrature on −1 … 1. */
const GAUSS_POINT = 1 / Math.sqrt(3);

/**
 * The instants at which to ask what the sun gives, so that their weighted sum is the energy of each hour.
 *
 * Each hour is cut at sunrise and sunset and only its sunlit part is integrated, with two Gauss points, so that an hour that
 * is half night is as good as noon.
 *
 * @param span.startMs   start of the first hour, Unix ms (any instant; hours follow each other from there)
 * @param span.hours     how many, whole, ≥ 0
 * @param span.position  where; the horizon is level
 * @param span.pieces    parts of equal length into which an hour's daylight is cut, each with its two points; ≥ 1
 * @param visit          called in rising order of time: instant, weight in hours, number of the hour
 * @source Abramowitz & Stegun 25.4.30, n = 2
 */
export function daylightPoints(
  span: {
    readonly startMs: number;
    readonly hours: number;
    readonly position: Position;
    readonly pieces: number;
  },
  visit: (atMs: number, weightH: number, hour: number) => void,
): void {
  const { startMs, hours, pieces } = span;
  const { latitudeDeg, longitudeDeg } = span.position;
  const endMs = startMs + hours * HOUR_MS;

  const walkDaylight = (fromMs: number, toMs: number): void => {
    const firstHour = Math.max(0, Math.floor((fromMs - startMs) / HOUR_MS));
    for (let hour = firstHour; hour < hours; hour += 1) {
      const lowMs = Math.max(fromMs, startMs + hour * HOUR_MS);
      const highMs = Math.min(toMs, startMs + (hour + 1) * HOUR_MS);
      if (lowMs >= toMs) return;
      const pieceMs = (highMs - lowMs) / pieces;
      const weightH = pieceMs / 2 / HOUR_MS;
      for (let piece = 0; piece < pieces; piece += 1) {
        const middleMs = lowMs + (piece + 0.5) * pieceMs;
        const reachMs = (pieceMs / 2) * GAUSS_POINT;
        visit(middleMs - reachMs, weightH, hour);
        visit(middleMs + reachMs, weightH, hour);
      }
    }
  };

  let dawnMs = startMs;
  for (const [duskMs, nextDawnMs] of nightsBetween(startMs, endMs, latitudeDeg, longitudeDeg)) {
    walkDaylight(dawnMs, duskMs);
    dawnMs = nextDawnMs;
  }
  walkDaylight(dawnMs, endMs);
}
