import type { MetricEntry, Rollup } from '@duskline/domain';
import { directionOfVector } from './mean-direction.ts';
import type { ReadingPoint } from './reading-point.ts';

/**
 * Hours or days as points, several of them to a point where the step is longer.
 *
 * @param rollups  oldest first, each of the same length
 * @param stepMs   a whole multiple of that length
 * @returns oldest first, no point where there is no rollup. Of directions the mean is that of vectors; where they cancel out,
 *          or an old rollup does not know them, the last one read stands for the step
 */
export function binRollups(
  rollups: readonly Rollup[],
  stepMs: number,
  aggregate: MetricEntry['aggregate'],
): readonly ReadingPoint[] {
  const bins = new Map<number, Rollup[]>();
  // Solar days start at their own hour, the same every day: steps are counted from there.
  const phaseMs = (rollups[0]?.startMs ?? 0) % stepMs;
  for (const rollup of rollups) {
    if (rollup.count === 0) continue;
    const startMs = Math.floor((rollup.startMs - phaseMs) / stepMs) * stepMs + phaseMs;
    const bin = bins.get(startMs);
    if (bin === undefined) bins.set(startMs, [rollup]);
    else bin.push(rollup);
  }
  return [...bins].map(([atMs, parts]) => point(atMs, parts, aggregate));
}

function point(
  atMs: number,
  parts: readonly Rollup[],
  aggregate: MetricEntry['aggregate'],
): ReadingPoint {
  const count = parts.reduce((total, part) => total + part.count, 0);
  const last = parts.at(-1)?.last ?? 0;
  if (aggregate === 'circular-mean') {
    const mean = meanDirectionOf(parts) ?? last;
    return { atMs, mean, min: mean, max: mean, count };
  }
  return {
    atMs,
    mean: parts.reduce((total, part) => total + part.sum, 0) / count,
    min: Math.min(...parts.map((part) => part.min)),
    max: Math.max(...parts.map((part) => part.max)),
    count,
  };
}

function meanDirectionOf(parts: readonly Rollup[]): number | undefined {
  let east = 0;
  let north = 0;
  let count = 0;
  for (const part of parts) {
    if (part.vector === undefined) return undefined;
    east += part.vector.east;
    north += part.vector.north;
    count += part.count;
  }
  return directionOfVector({ east, north }, count);
}
