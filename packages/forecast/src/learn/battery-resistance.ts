import { DAY_MS, HOUR_MS, type HourlyHistory, type PowerSystem } from '@duskline/domain';
import { type BatteryPack, packResistanceOhm, voltageFromCharge } from '@duskline/energy';
import { BAND_SIGMAS } from './fresh-learnt.ts';
import type { Learnt } from './learnt-site.ts';
import { median, robustSigma } from './robust.ts';

/** Steps of current smaller than this share of the capacity per hour are lost in the voltage's noise. */
const LEAST_STEP_PER_H = 0.1;
const MOST_STEPS = 50;
const LEAST_STEPS = 5;
/** A median is this much less sure than a mean of as many. */
const MEDIAN_FACTOR = 1.25;
/** Further off than this from the usual resistance of such a pack it is no resistance. */
const PLAUSIBLE = [0.1, 10] as const;

/**
 * Resistance of the pack from its own steps of current: change of voltage over change of current from one hour to the next, less
 * what the charge itself moved the voltage, brought to 25 °C; the middle of the last fifty.
 *
 * @returns undefined with fewer than five steps of at least a tenth of the capacity
 * @source Ohm; hours instead of seconds, so slow polarisation is part of it, as it is of the voltage it will correct
 */
export function batteryResistance(inputs: {
  readonly history: HourlyHistory;
  readonly power: PowerSystem;
  readonly pack: BatteryPack;
  readonly sinceMs: number;
  readonly untilMs: number;
}): Learnt | undefined {
  const { history, power, pack, sinceMs, untilMs } = inputs;
  const { seriesCells, ratedWh } = power.battery;
  const facts = pack.facts;
  const capacityAh = pack.capacityWh / (facts.nominalCellV * seriesCells);
  const usual = { facts, seriesCells, ratedWh };
  const usualOhm = packResistanceOhm(usual);
  const steps: number[] = [];
  const days = new Set<number>();
  for (let i = history.batteryV.length - 1; i > 0 && steps.length < MOST_STEPS; i--) {
    const endMs = history.startMs + (i + 1) * HOUR_MS;
    if (endMs > untilMs) continue;
    if (endMs - 2 * HOUR_MS < sinceMs) break;
    const voltageV = history.batteryV[i] ?? null;
    const beforeV = history.batteryV[i - 1] ?? null;
    const currentA = history.batteryA[i] ?? null;
    const beforeA = history.batteryA[i - 1] ?? null;
    if (voltageV === null || beforeV === null || currentA === null || beforeA === null) continue;
    const stepA = currentA - beforeA;
    if (Math.abs(stepA) < LEAST_STEP_PER_H * capacityAh) continue;
    const ratio = history.chargeRatio[i] ?? 0.5;
    const risen = (currentA + beforeA) / 2 / capacityAh;
    const restV = (level: number): number =>
      voltageFromCharge({
        chemistry: facts.chemistry,
        seriesCells,
        chargeRatio: Math.min(1, Math.max(0, level)),
        facts,
      });
    const chargeV = restV(ratio) - restV(ratio - risen);
    const batteryC = history.batteryC[i] ?? history.airC[i] ?? 25;
    const cold = packResistanceOhm({ ...usual, batteryC }) / usualOhm;
    const ohm = (voltageV - beforeV - chargeV) / stepA / cold;
    if (ohm < PLAUSIBLE[0] * usualOhm || ohm > PLAUSIBLE[1] * usualOhm) continue;
    steps.push(ohm);
    days.add(Math.floor(endMs / DAY_MS));
  }
  if (steps.length < LEAST_STEPS) return undefined;
  const value = median(steps);
  const half =
    (BAND_SIGMAS * MEDIAN_FACTOR * robustSigma(steps, value)) / Math.sqrt(steps.length) +
    0.05 * value;
  return {
    value,
    low: Math.max(0, value - half),
    high: value + half,
    unit: 'Ω',
    fromDays: days.size,
    sureness: steps.length < 15 ? 'weak' : steps.length < 40 ? 'fair' : 'firm',
    how: `Change of voltage over change of current in ${steps.length} hours, brought to 25 °C.`,
  };
}
