import { drawPath, newPathDraw, type PathDoubt } from './draw-path.ts';
import type { ForecastInputs } from './forecast-inputs.ts';
import { DRIVER_DAYS } from './outlook-drivers.ts';
import { seededRandom } from './seeded-random.ts';
import { newTracks, newWalker, type WalkPlan, walkPath, type WalkTracks } from './walk.ts';
import { daysOf, referenceByDay } from './walk-plan.ts';

export const PATHS = 500;

/**
 * Walks every path of a node. The same seed draws the same numbers whatever the panel, the battery or the load, so that two
 * plans can be compared path by path.
 *
 * @returns what came of the paths, and the mean of what the panel could give in the next seven days, Wh a day
 */
export function walkAll(
  { seed, paths = PATHS }: Pick<ForecastInputs, 'seed' | 'paths'>,
  plan: WalkPlan,
  doubt: PathDoubt,
): { readonly tracks: WalkTracks; readonly harvestWhPerDay: number } {
  const random = seededRandom(seed);
  const draw = newPathDraw(daysOf(plan));
  const tracks = newTracks(paths, plan.fan.count);
  const walker = newWalker(plan);
  const comingWh = referenceByDay(plan, DRIVER_DAYS * 24);
  const comingDays = comingWh.findLastIndex((energyWh) => energyWh > 0) + 1;
  let harvestWh = 0;
  for (let path = 0; path < paths; path++) {
    drawPath(doubt, random, draw);
    walkPath(walker, draw, tracks, path);
    for (let day = 0; day < comingDays; day++)
      harvestWh += comingWh[day]! * draw.ratio[day]! * draw.scale;
  }
  const coveredDays = Math.min(DRIVER_DAYS, plan.horizonH / 24);
  return { tracks, harvestWhPerDay: harvestWh / paths / coveredDays };
}
