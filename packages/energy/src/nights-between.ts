import { DAY_MS } from '@duskline/domain';
import { crossingMs } from './crossing.ts';
import { requireWithin } from './require-number.ts';
import { meanNoonMs, solarNoonMs } from './solar-noon.ts';
import { sunPosition } from './sun-position.ts';
import { HORIZON_ZENITH_DEG } from './sun-times.ts';

const HALF_DAY_MS = DAY_MS / 2;
/** True noon keeps within half an hour of mean noon, whatever the equation of time (17 minutes at most). */
const NOON_REACH_MS = DAY_MS / 48;

/**
 * The nights within a span: every stretch in which the sun is below a level horizon.
 *
 * @param fromMs        start, Unix ms
 * @param toMs          end, Unix ms, ≥ fromMs
 * @param latitudeDeg   −90 … 90
 * @param longitudeDeg  −180 … 180
 * @returns [start, end) pairs in Unix ms, in order, clipped to the span: empty in polar day, one pair through a polar night
 * @throws EnergyInputError when the place is out of range or the span runs backwards
 * @accuracy as sunTimes; test/reference/energy/sun-times.test.ts
 * @source ours: the sun's height is monotone between solar midnight and solar noon, so each half day holds at most one crossing
 */
export function nightsBetween(
  fromMs: number,
  toMs: number,
  latitudeDeg: number,
  longitudeDeg: number,
): readonly (readonly [startMs: number, endMs: number])[] {
  requireWithin('latitudeDeg', latitudeDeg, [-90, 90]);
  requireWithin('longitudeDeg', longitudeDeg, [-180, 180]);
  requireWithin('toMs', toMs, [fromMs, Number.MAX_SAFE_INTEGER]);
  const depression = (atMs: number): number =>
    sunPosition(atMs, latitudeDeg, longitudeDeg).zenithDeg - HORIZON_ZENITH_DEG;

  const nights: (readonly [number, number])[] = [];
  let nightStartMs: number | undefined = depression(fromMs) > 0 ? fromMs : undefined;
  let kneeMs = fromMs;
  for (const nextMs of turningPoints(fromMs, toMs, { latitudeDeg, longitudeDeg })) {
    const crossed = crossingMs(depression, kneeMs, nextMs);
    if (crossed !== undefined && nightStartMs === undefined) {
      nightStartMs = crossed;
    } else if (crossed !== undefined && nightStartMs !== undefined) {
      nights.push([nightStartMs, crossed]);
      nightStartMs = undefined;
    }
    kneeMs = nextMs;
  }
  if (nightStartMs !== undefined && nightStartMs < toMs) nights.push([nightStartMs, toMs]);
  return nights;
}

/** Solar noons and midnights inside a span, then its end: between two of them the sun only rises or only sinks. */
function turningPoints(
  fromMs: number,
  toMs: number,
  place: { readonly latitudeDeg: number; readonly longitudeDeg: number },
): number[] {
  const points: number[] = [];
  for (let dayMs = fromMs - 2 * DAY_MS; dayMs <= toMs + 2 * DAY_MS; dayMs += DAY_MS) {
    const aboutNoonMs = meanNoonMs(dayMs, place.longitudeDeg);
    const isBefore = aboutNoonMs + HALF_DAY_MS + NOON_REACH_MS < fromMs;
    if (isBefore || aboutNoonMs - NOON_REACH_MS > toMs) continue;
    const noonMs = solarNoonMs(dayMs, place);
    for (const pointMs of [noonMs, noonMs + HALF_DAY_MS]) {
      if (pointMs > fromMs && pointMs < toMs) points.push(pointMs);
    }
  }
  points.push(toMs);
  return points;
}
