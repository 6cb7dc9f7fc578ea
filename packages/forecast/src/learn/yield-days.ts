import type { HarvestHours } from './harvest-hours.ts';
import { FREE, NOT_HEARD } from './hour-flags.ts';
import type { PastHours } from './past-hours.ts';

/** The yield of one solar day: harvest over what the nominal panel would give under a cloudless sky. */
export interface YieldDay {
  /** Solar day, 0 = the day in which the forecast starts. */
  readonly day: number;
  /** The yield ratio; when censored, a lower bound of it. */
  readonly ratio: number;
  readonly isCensored: boolean;
  /** Share of the day's clear-sky energy that falls into hours heard, 0–1. */
  readonly heardShare: number;
  /** First hour of the day in the history; −1: its hours are not at hand. */
  readonly firstHour: number;
  /** Battery temperature of a day whose hours are not at hand, °C. */
  readonly meanC?: number;
  /** Worked out from the charge before and after a dark spell: the mean of its days. */
  readonly fromDarkSpell?: true;
}

/** A day tells its yield when its free hours hold this share of its clear-sky energy. */
const LEAST_SHARE = 0.25;
/** Days darker than this many full-power hours tell nothing: near polar night all is horizon. */
const LEAST_FULL_POWER_HOURS = 0.05;

interface Sums {
  firstHour: number;
  referenceWh: number;
  heardReferenceWh: number;
  heardWh: number;
  freeReferenceWh: number;
  freeWh: number;
}

/**
 * Daily yield ratios, each known or only bounded from below.
 *
 * From free hours alone when they hold at least a quarter of the day's clear-sky energy; otherwise the day is censored: it
 * could have given at least what it gave. Hours not heard count for nothing, so a day half heard keeps its ratio.
 *
 * @param past     hours, with the clear-sky yardstick
 * @param harvest  what the panel gave
 * @param facts    flags by hour, rated power of the panel in W
 * @returns ascending by day; days heard for less than a quarter of their light are left out
 */
export function yieldDays(
  past: PastHours,
  harvest: HarvestHours,
  facts: { readonly flags: Uint8Array; readonly ratedW: number },
): readonly YieldDay[] {
  const days: YieldDay[] = [];
  for (const [day, sums] of sumByDay(past, harvest, facts.flags)) {
    if (sums.referenceWh < LEAST_FULL_POWER_HOURS * facts.ratedW) continue;
    const heardShare = sums.heardReferenceWh / sums.referenceWh;
    if (heardShare < LEAST_SHARE) continue;
    const isCensored = sums.freeReferenceWh < LEAST_SHARE * sums.referenceWh;
    const ratio = isCensored
      ? sums.heardWh / sums.heardReferenceWh
      : sums.freeWh / sums.freeReferenceWh;
    days.push({
      day,
      ratio: Math.max(0, ratio),
      isCensored,
      heardShare,
      firstHour: sums.firstHour,
    });
  }
  return days.sort((a, b) => a.day - b.day);
}

function sumByDay(past: PastHours, harvest: HarvestHours, flags: Uint8Array): Map<number, Sums> {
  const byDay = new Map<number, Sums>();
  for (const { from, to } of past.spans)
    for (let i = from; i < to; i++) {
      const sums = byDay.get(past.day[i]!) ?? newSums(i, past.beyondWh.get(past.day[i]!) ?? 0);
      byDay.set(past.day[i]!, sums);
      const referenceWh = past.referenceWh[i]!;
      sums.referenceWh += referenceWh;
      if (flags[i] === NOT_HEARD || referenceWh === 0) continue;
      sums.heardReferenceWh += referenceWh;
      sums.heardWh += harvest.harvestW[i]!;
      if (flags[i] !== FREE) continue;
      sums.freeReferenceWh += referenceWh;
      sums.freeWh += harvest.harvestW[i]!;
    }
  return byDay;
}

const newSums = (firstHour: number, beyondWh: number): Sums => ({
  firstHour,
  referenceWh: beyondWh,
  heardReferenceWh: 0,
  heardWh: 0,
  freeReferenceWh: 0,
  freeWh: 0,
});
