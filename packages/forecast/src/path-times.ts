import type { WalkPlan, WalkTracks } from './walk.ts';

/** Paths walked, with the plan they share. */
export interface Walked {
  readonly plan: WalkPlan;
  readonly tracks: WalkTracks;
}

/**
 * Days from now to the first stop of each path.
 *
 * @returns ascending; 0 for a stop before now, Infinity beyond the horizon
 */
export function daysToEmpty({ plan, tracks }: Walked, horizonDays: number): Float64Array {
  return daysFromNow(tracks.emptyHours, plan.nowH, horizonDays);
}

/**
 * Days from now to the return of each path that is still dark: what is known of the node is that it is not back.
 *
 * @returns ascending; Infinity beyond the horizon; empty when every path was back before now
 */
export function daysToReturn(walked: Walked, horizonDays: number): Float64Array {
  const { plan, tracks } = walked;
  const hours = Float64Array.from(pathsStillDark(walked), (path) => tracks.returnHours[path]!);
  return daysFromNow(hours, plan.nowH, horizonDays);
}

/** Numbers of the paths that have not returned by now. */
export function pathsStillDark({ plan, tracks }: Walked): readonly number[] {
  const paths: number[] = [];
  tracks.returnHours.forEach((hour, path) => {
    if (hour > plan.nowH) paths.push(path);
  });
  return paths;
}

function daysFromNow(hours: Float64Array, nowH: number, horizonDays: number): Float64Array {
  return hours
    .map((hour) => Math.max(0, hour - nowH) / 24)
    .map((day) => (day <= horizonDays ? day : Number.POSITIVE_INFINITY))
    .sort();
}
