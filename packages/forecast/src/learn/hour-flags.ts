import { type BatteryFacts, chargeBlock } from '@duskline/energy';
import type { BatteryHours } from './battery-hours.ts';
import type { HarvestHours } from './harvest-hours.ts';
import type { PastHours } from './past-hours.ts';

/** What the panel's reading of an hour is worth. */
export const NOT_HEARD = 0;
/** The panel gave what the sky allowed. */
export const FREE = 1;
/** The battery was full or nearly: the reading is a lower bound. */
export const CLIPPED = 2;
/** The battery was too cold or too hot to be charged: a lower bound too. */
export const BLOCKED = 3;

/** Charge from which the charger may be holding back; full in practice. */
const FULL_RATIO = 0.97;
/** From here a falling current under a rising sun is taken for taper, below for cloud. */
const TAPER_RATIO = 0.9;
const RISING = 1.02;
const FALLING = 0.9;

/**
 * Tells the hours in which the panel's reading is weather from those in which it is only a lower bound.
 *
 * A full battery hides harvest: a well-sized node is full by ten all summer, and taken at its word its panel would look
 * poor in autumn. Nothing in this package is worth more than this distinction.
 *
 * @param past     hours to judge (only those within its spans are)
 * @param harvest  what the panel gave
 * @param battery  its temperature by hour, what is known of its chemistry, and its cells in series
 * @returns NOT_HEARD, FREE, CLIPPED or BLOCKED by hour; at night FREE
 * @source ours; common practice, no source, for the charge from which a charger holds back
 */
export function flagHours(
  past: PastHours,
  harvest: HarvestHours,
  battery: {
    readonly hours: BatteryHours;
    readonly facts: BatteryFacts;
    readonly seriesCells: number;
  },
): Uint8Array {
  const flags = new Uint8Array(past.count);
  const fullV = battery.facts.fullCellV * battery.seriesCells;
  for (const { from, to } of past.spans)
    for (let i = from; i < to; i++) {
      if (harvest.heard[i] === 0) continue;
      if (past.referenceWh[i] === 0) flags[i] = FREE;
      else if (isFull(past, i, fullV) || isTapering(past, i, harvest.harvestW)) flags[i] = CLIPPED;
      else if (isBlocked(battery.hours, i, battery.facts)) flags[i] = BLOCKED;
      else flags[i] = FREE;
    }
  return flags;
}

/** The hour after counts too: a battery full then was filled during this one. */
function isFull({ history, count }: PastHours, hour: number, fullV: number): boolean {
  const next = Math.min(hour + 1, count - 1);
  const charge = Math.max(history.chargeRatio[hour] ?? 0, history.chargeRatio[next] ?? 0);
  return charge >= FULL_RATIO || (history.batteryV[hour] ?? 0) >= fullV;
}

function isTapering(past: PastHours, hour: number, harvestW: Float64Array): boolean {
  const charge = past.history.chargeRatio[hour] ?? 0;
  if (hour === 0 || charge < TAPER_RATIO) return false;
  return (
    past.referenceWh[hour]! > RISING * past.referenceWh[hour - 1]! &&
    harvestW[hour]! < FALLING * harvestW[hour - 1]!
  );
}

function isBlocked(battery: BatteryHours, hour: number, facts: BatteryFacts): boolean {
  return battery.known[hour] === 1 && chargeBlock(facts, battery.temperatureC[hour]!) !== undefined;
}
