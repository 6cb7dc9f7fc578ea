import type { BatteryPack } from '@duskline/energy';
import { isHeard, type PastHours } from './past-hours.ts';
import type { YieldDay } from './yield-days.ts';

/** A stretch in which the node was dark, told by the charge before and after it. */
export interface DarkSpell {
  /** Hours [from, to) of the history. */
  readonly from: number;
  readonly to: number;
  /** What the panel must have given meanwhile, Wh; a lower bound where the charger may have refused it. */
  readonly harvestWh: number;
  readonly isBound: boolean;
}

const LEAST_HOURS = 12;
/** Before the gap the charge was at the shut-down level, give or take what a gauge is good for. */
const NEAR_RATIO = 0.05;
/** A day belongs to a spell when this share of its light fell into it. */
const LEAST_SHARE = 0.75;
/** A pack this cold before or after may have refused charge in between. */
const COLD_MARGIN_K = 3;

/**
 * What came in while the node was dark: the rise of charge from the last reading before to the first after, and what the node
 * drew while off. Without it the pool would hold no weather that sent the node dark.
 *
 * @param past     hours within spans; the yardstick filled
 * @param pack     capacity and losses
 * @param batteryC temperature of the battery at an hour, where known
 * @source ours: balance of the battery over the gap
 */
export function darkSpells(
  past: PastHours,
  pack: BatteryPack,
  batteryC: (hour: number) => number | undefined,
): readonly DarkSpell[] {
  const spells: DarkSpell[] = [];
  const { history } = past;
  for (const span of past.spans) {
    let before = -1;
    for (let i = span.from; i < span.to; i++) {
      const ratio = history.chargeRatio[i] ?? null;
      if (ratio === null && !isHeard(history, i)) continue;
      const from = before + 1;
      if (before >= span.from && ratio !== null && i - from >= LEAST_HOURS) {
        const start = history.chargeRatio[before] ?? null;
        if (start !== null && start <= pack.shutDownRatio + NEAR_RATIO && ratio > start)
          spells.push(spellOf({ from, to: i, risenRatio: ratio - start }, pack, batteryC));
      }
      before = i;
    }
  }
  return spells;
}

function spellOf(
  { from, to, risenRatio }: { from: number; to: number; risenRatio: number },
  pack: BatteryPack,
  batteryC: (hour: number) => number | undefined,
): DarkSpell {
  const storedWh = (risenRatio * pack.capacityWh) / pack.chargeEfficiency;
  const drawnWh = pack.offStateDrawW * (to - from);
  const coldest = Math.min(batteryC(from - 1) ?? Infinity, batteryC(to) ?? Infinity);
  return {
    from,
    to,
    harvestWh: (storedWh + drawnWh) / pack.chargerEfficiency,
    isBound: coldest < pack.facts.chargeTemperatureC[0] + COLD_MARGIN_K,
  };
}

/**
 * The days of dark spells as days of yield: each has the mean of its spell, for nothing tells them apart.
 *
 * @returns ascending by day
 */
export function yieldOfSpells(past: PastHours, spells: readonly DarkSpell[]): readonly YieldDay[] {
  const whole = new Map<number, { referenceWh: number; firstHour: number }>();
  for (const { from, to } of past.spans)
    for (let i = from; i < to; i++) {
      const day = past.day[i]!;
      const sum = whole.get(day) ?? { referenceWh: past.beyondWh.get(day) ?? 0, firstHour: i };
      sum.referenceWh += past.referenceWh[i]!;
      whole.set(day, sum);
    }
  return spells.flatMap(({ from, to, harvestWh, isBound }) => {
    const inside = new Map<number, number>();
    let referenceWh = 0;
    for (let i = from; i < to; i++) {
      referenceWh += past.referenceWh[i]!;
      inside.set(past.day[i]!, (inside.get(past.day[i]!) ?? 0) + past.referenceWh[i]!);
    }
    if (referenceWh === 0) return [];
    return [...inside]
      .filter(
        ([day, insideWh]) => insideWh > 0 && insideWh >= LEAST_SHARE * whole.get(day)!.referenceWh,
      )
      .map(([day]) => ({
        day,
        ratio: harvestWh / referenceWh,
        isCensored: isBound,
        heardShare: 1,
        firstHour: whole.get(day)!.firstHour,
        fromDarkSpell: true,
      }));
  });
}
