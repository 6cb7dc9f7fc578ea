import type { BatteryPack } from '@duskline/energy';
import { type LoadProfile, utcHour } from './load-profile.ts';
import type { PastHours } from './past-hours.ts';

/** What the panel gave by hour, measured at the panel or worked back from the battery. */
export interface HarvestHours {
  /** W; meaningful where `heard` is 1. Worked back from charge it may dip below 0 by rounding. */
  readonly harvestW: Float64Array;
  readonly heard: Uint8Array;
  readonly from: 'panel' | 'current' | 'charge' | 'none';
}

/**
 * Harvest of each past hour: read at the panel; else battery current times voltage plus load; else the rise of charge plus
 * load. The first of these that was read in a recent hour serves for all, so that one scale holds throughout.
 *
 * @param past  hours to fill, within its spans
 * @param load  what the node draws, for the hours in which it was not read
 * @param pack  battery and charger: what a rise of charge has cost at the panel
 */
export function harvestHours(past: PastHours, load: LoadProfile, pack: BatteryPack): HarvestHours {
  const { history } = past;
  const loadAt = (i: number): number =>
    history.loadW[i] ?? load.byUtcHourW[utcHour(history.startMs, i)]!;

  const panel = fill(past, (i) => history.panelW[i] ?? undefined);
  if (panel !== undefined) return { ...panel, from: 'panel' };

  const current = fill(past, (i) => {
    const currentA = history.batteryA[i] ?? null;
    const voltageV = history.batteryV[i] ?? null;
    if (currentA === null || voltageV === null) return undefined;
    return Math.max(0, currentA * voltageV + loadAt(i)) / pack.chargerEfficiency;
  });
  if (current !== undefined) return { ...current, from: 'current' };

  const charge = fill(past, (i) => {
    const before = history.chargeRatio[i - 1] ?? null;
    const after = history.chargeRatio[i + 1] ?? null;
    if (before === null || after === null || history.chargeRatio[i] == null) return undefined;
    const storedW = ((after - before) / 2) * pack.capacityWh;
    const intoBatteryW = storedW > 0 ? storedW / pack.facts.chargeEfficiency : storedW;
    return (intoBatteryW + loadAt(i)) / pack.chargerEfficiency;
  });
  if (charge !== undefined) return { ...charge, from: 'charge' };
  return {
    harvestW: new Float64Array(past.count),
    heard: new Uint8Array(past.count),
    from: 'none',
  };
}

/** Undefined when no hour of the newest span has a value. */
function fill(
  past: PastHours,
  valueAt: (hour: number) => number | undefined,
): Omit<HarvestHours, 'from'> | undefined {
  const harvestW = new Float64Array(past.count);
  const heard = new Uint8Array(past.count);
  const newest = past.spans.at(-1);
  let isServing = false;
  for (const span of past.spans)
    for (let i = span.from; i < span.to; i++) {
      const value = valueAt(i);
      if (value === undefined) continue;
      harvestW[i] = value;
      heard[i] = 1;
      if (span === newest) isServing = true;
    }
  return isServing ? { harvestW, heard } : undefined;
}
