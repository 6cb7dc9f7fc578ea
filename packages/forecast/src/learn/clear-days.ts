import type { HarvestHours } from './harvest-hours.ts';
import { FREE } from './hour-flags.ts';
import type { PastHours } from './past-hours.ts';
import { median } from './robust.ts';

/** A day whose hours follow the cloudless sky. */
export interface ClearDay {
  /** Solar day, as in `PastHours`. */
  readonly day: number;
  /** Middle of harvest over yardstick of its free, bright hours. */
  readonly ratio: number;
}

const BRIGHT_SHARE = 0.2;
const LEAST_HOURS = 4;
/** Hours of a clear day differ this little from its middle (half of them). Assumption, no source. */
const MOST_SPREAD = 0.06;
/** An evenly overcast day is smooth too; it gives less than this share of the best days. */
const LEAST_SHARE_OF_BEST = 0.4;

/**
 * Days with a cloudless sky, told by their shape alone: hour for hour the same share of the yardstick. Their height is then the
 * panel's own doing.
 *
 * @returns ascending by day
 * @source ours: as a clear-sky test by relative variability (Reno & Hansen 2016, Renewable Energy 90:520), on hourly means
 */
export function clearDays(
  past: PastHours,
  harvest: HarvestHours,
  facts: { readonly flags: Uint8Array; readonly ratedW: number },
): readonly ClearDay[] {
  const byDay = new Map<number, number[]>();
  for (const { from, to } of past.spans)
    for (let i = from; i < to; i++) {
      if (facts.flags[i] !== FREE || past.referenceWh[i]! <= BRIGHT_SHARE * facts.ratedW) continue;
      const ratios = byDay.get(past.day[i]!) ?? [];
      ratios.push(harvest.harvestW[i]! / past.referenceWh[i]!);
      byDay.set(past.day[i]!, ratios);
    }
  const smooth = [...byDay]
    .filter(([, ratios]) => ratios.length >= LEAST_HOURS)
    .map(([day, ratios]) => ({ day, ratio: median(ratios), spread: spreadOf(ratios) }))
    .filter(({ ratio, spread }) => ratio > 0 && spread <= MOST_SPREAD * ratio);
  const best = smooth.reduce((most, { ratio }) => Math.max(most, ratio), 0);
  return smooth
    .filter(({ ratio }) => ratio >= LEAST_SHARE_OF_BEST * best)
    .map(({ day, ratio }) => ({ day, ratio }))
    .sort((a, b) => a.day - b.day);
}

/** Median absolute deviation. */
function spreadOf(ratios: readonly number[]): number {
  const middle = median(ratios);
  return median(ratios.map((ratio) => Math.abs(ratio - middle)));
}
