import type { HarvestHours } from './harvest-hours.ts';
import { FREE } from './hour-flags.ts';
import type { PastHours } from './past-hours.ts';
import type { YieldDay } from './yield-days.ts';

/** A day tells its shape when this share of its clear-sky energy was heard with a free battery: else part of the shape is hidden. */
const LEAST_FREE_SHARE = 0.95;
/** An hour of low sun may hold many times what the yardstick gives it: beyond this it is noise of the yardstick. Assumption. */
const MOST_SHAPE = 3;

/**
 * How the light of each pool day was spread over its hours: the hour's yield over the day's. 1 all day: even, or unknown.
 *
 * It joins morning fog to bright afternoons and showers to the hours between, which a mean over the day does not, and leaves the
 * day's energy what it was.
 *
 * @param days     the pool
 * @param past     hours of it, the yardstick with shade taken out
 * @param harvest  worked back from charge it is too coarse by the hour, and tells no shape
 * @returns by pool day and hour of the solar day: `[index · 24 + slot]`; weighted with the yardstick its mean over a day is 1
 * @source ours: project research note §9 (within the day)
 */
export function dayShapes(
  days: readonly YieldDay[],
  past: PastHours,
  { harvest, flags }: { readonly harvest: HarvestHours; readonly flags: Uint8Array },
): Float32Array {
  const shapes = new Float32Array(days.length * 24).fill(1);
  if (harvest.from !== 'panel' && harvest.from !== 'current') return shapes;
  days.forEach(({ firstHour, day, isCensored }, index) => {
    if (firstHour < 0 || isCensored) return;
    const row = shapes.subarray(index * 24, index * 24 + 24);
    if (!fillShape(row, past, { harvest, flags, firstHour, day })) row.fill(1);
  });
  return shapes;
}

/** @returns false when the day does not tell its shape */
function fillShape(
  row: Float32Array,
  { count, day: dayOf, slot, referenceWh, beyondWh }: PastHours,
  {
    harvest,
    flags,
    firstHour,
    day,
  }: {
    readonly harvest: HarvestHours;
    readonly flags: Uint8Array;
    readonly firstHour: number;
    readonly day: number;
  },
): boolean {
  let allWh = beyondWh.get(day) ?? 0;
  let freeWh = 0;
  let givenWh = 0;
  for (let i = firstHour; i < count && dayOf[i] === day; i++) {
    allWh += referenceWh[i]!;
    if (flags[i] !== FREE) continue;
    freeWh += referenceWh[i]!;
    givenWh += Math.max(0, harvest.harvestW[i]!);
  }
  if (!(givenWh > 0) || freeWh < LEAST_FREE_SHARE * allWh) return false;
  const dayRatio = givenWh / freeWh;
  let shapedWh = 0;
  for (let i = firstHour; i < count && dayOf[i] === day; i++) {
    const wh = referenceWh[i]!;
    const isTold = flags[i] === FREE && wh > 0;
    const told = isTold ? Math.max(0, harvest.harvestW[i]!) / (wh * dayRatio) : 1;
    row[slot[i]!] = Math.min(MOST_SHAPE, told);
    shapedWh += row[slot[i]!]! * wh;
  }
  const sumWh = allWh - (beyondWh.get(day) ?? 0);
  for (let hour = 0; hour < 24; hour++) row[hour] = (row[hour]! * sumWh) / shapedWh;
  return true;
}
