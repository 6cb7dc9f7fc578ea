import { HOUR_MS } from '@duskline/domain';
import type { SkyAt } from './mishap.ts';

/** Precipitation at or below this falls as snow; a cover melts above it (common practice, no source). */
const SNOW_BELOW_C = 1;
/** Water equivalent that melts or slides off a steep panel in an hour and kelvin above freezing (assumption). */
const MELT_MM_PER_K_HOUR = 0.12;
/** A steep panel holds no more than this, mm of water: some ten centimetres of fresh snow (assumption). */
const HOLDS_MM = 9;
/** Light falls to a third with each 0.8 mm of water: two centimetres let a few percent through (rounded from memory). */
const LIGHT_DEPTH_MM = 0.75;

/** Share of the light that gets through the snow that fell on a panel and has not melted or slid off. */
export function throughSnow(sky: SkyAt, startMs: number): (atMs: number) => number {
  const depthAt = hourly(startMs, 0, (depthMm, atMs) => {
    const { airC, rainMmPerHour } = sky(atMs);
    if (airC > SNOW_BELOW_C)
      return Math.max(0, depthMm - (airC - SNOW_BELOW_C) * MELT_MM_PER_K_HOUR - rainMmPerHour);
    return Math.min(HOLDS_MM, depthMm + rainMmPerHour);
  });
  return (atMs) => Math.exp(-depthAt(atMs) / LIGHT_DEPTH_MM);
}

/** Rain of a day that washes a panel (Kimber et al. 2006, the model's default; from memory). */
const WASHES_MM = 6;

/**
 * Share of the light that gets through dust and pollen, which settle at the same rate every day until a day's rain washes
 * them away.
 *
 * @param lostPerDay share of the light lost more each day
 */
export function throughDust(
  sky: SkyAt,
  startMs: number,
  lostPerDay: number,
): (atMs: number) => number {
  const rain: number[] = [];
  const dirtAt = hourly(startMs, 0, (dirt, atMs) => {
    rain.push(sky(atMs).rainMmPerHour);
    const day = rain.slice(-24).reduce((sum, mm) => sum + mm, 0);
    return day >= WASHES_MM ? 0 : Math.min(0.7, dirt + lostPerDay / 24);
  });
  return (atMs) => 1 - dirtAt(atMs);
}

/** A figure that goes on from hour to hour, lived through once. */
function hourly(
  startMs: number,
  first: number,
  next: (value: number, atMs: number) => number,
): (atMs: number) => number {
  const values = [first];
  return (atMs) => {
    const hour = Math.max(0, Math.floor((atMs - startMs) / HOUR_MS));
    while (values.length <= hour)
      values.push(next(values[values.length - 1] ?? first, startMs + values.length * HOUR_MS));
    return values[hour] ?? first;
  };
}
