import type { MetricEntry } from '@duskline/domain';
import type { KnownReading } from '../api-deps.ts';
import { meanDirectionDeg } from './mean-direction.ts';
import type { ReadingPoint } from './reading-point.ts';

interface RawReading {
  readonly atMs: number;
  readonly value: number;
}

/** Single readings as points: nothing is summed up. */
export const pointsOf = (
  readings: readonly (RawReading | KnownReading)[],
): readonly ReadingPoint[] =>
  readings.map(({ atMs, value, ...known }) => ({
    atMs,
    mean: value,
    min: value,
    max: value,
    count: 1,
    ...('flag' in known ? { known } : {}),
  }));

/**
 * Readings summed up step by step. A step in which nothing was read has no point: a gap stays a gap.
 *
 * @param readings  oldest first, finite
 * @param stepMs    > 0; steps start at whole multiples of it since 1970, so that they stay put when a chart is moved
 * @returns oldest first; of a direction the mean is the vector mean, and min and max, which mean nothing, are the same
 */
export function binReadings(
  readings: readonly RawReading[],
  stepMs: number,
  aggregate: MetricEntry['aggregate'],
): readonly ReadingPoint[] {
  const bins = new Map<number, number[]>();
  for (const { atMs, value } of readings) {
    const startMs = Math.floor(atMs / stepMs) * stepMs;
    const bin = bins.get(startMs);
    if (bin === undefined) bins.set(startMs, [value]);
    else bin.push(value);
  }
  return [...bins].map(([atMs, values]) =>
    aggregate === 'circular-mean' ? directionPoint(atMs, values) : numberPoint(atMs, values),
  );
}

function numberPoint(atMs: number, values: readonly number[]): ReadingPoint {
  let sum = 0;
  let min = Infinity;
  let max = -Infinity;
  for (const value of values) {
    sum += value;
    if (value < min) min = value;
    if (value > max) max = value;
  }
  return { atMs, mean: sum / values.length, min, max, count: values.length };
}

function directionPoint(atMs: number, values: readonly number[]): ReadingPoint {
  const mean = meanDirectionDeg(values);
  return { atMs, mean, min: mean, max: mean, count: values.length };
}
