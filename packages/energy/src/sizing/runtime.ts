import type { PowerSystem } from '@duskline/domain';
import { batteryFactsOf } from '../batteries/custom-battery.ts';
import { requireFinite, requireWithin } from '../require-number.ts';
import { selfDischargePerMonth } from '../self-discharge.ts';

const HOURS_PER_MONTH = 730.5;
/** A battery nobody has measured holds between this and its nameplate: end of life by common practice. */
const WORN_RATIO = 0.8;
/** Lead–acid is rated over twenty hours and gives less to a faster draw. Common practice, no source. */
const RATED_OVER_H = 20;

export interface Runtime {
  /** Hours until the level is reached. */
  readonly hours: number;
  /** The same with a worn battery (80 % of the nameplate), and with all of the nameplate. */
  readonly lowHours: number;
  readonly highHours: number;
  /** Energy between the two levels at this temperature, in the cells, Wh. */
  readonly usableWh: number;
  /** A lead–acid battery emptied faster than in the twenty hours it is rated for: expect less. */
  readonly isFasterThanRated: boolean;
  /** Colder or hotter than the cells may be used. */
  readonly isOutsideLimits: boolean;
}

/**
 * How long a battery carries a load without any sun.
 *
 * @param inputs.battery      of the power system; a builder's own as `customBatteryOf` gives it
 * @param inputs.loadW        mean load, > 0
 * @param inputs.fromRatio    charge at the start, 0 … 1; full when left out
 * @param inputs.toRatio      charge at which the node stops, 0 … fromRatio
 * @param inputs.batteryC     °C; 25 when left out
 * @param inputs.healthRatio  present capacity over the nameplate where it was learnt; then low and high are within a tenth of it
 * @throws EnergyInputError when a number is out of range
 * @accuracy closed form: equals hourly steps of `stepBattery` to 0.5 %, runtime.test.ts
 * @source ours: dE/dt = −load ÷ discharge efficiency − self-discharge · E, from the tables of the battery
 */
export function runtimeOf(inputs: {
  readonly battery: PowerSystem['battery'];
  readonly loadW: number;
  readonly fromRatio?: number;
  readonly toRatio: number;
  readonly batteryC?: number;
  readonly healthRatio?: number;
}): Runtime {
  const { battery, loadW, fromRatio = 1, toRatio, batteryC = 25, healthRatio } = inputs;
  requireWithin('battery.ratedWh', battery.ratedWh, [Number.MIN_VALUE, Number.MAX_VALUE]);
  requireWithin('loadW', loadW, [1e-9, Number.MAX_VALUE]);
  requireWithin('fromRatio', fromRatio, [0, 1]);
  requireWithin('toRatio', toRatio, [0, fromRatio]);
  requireFinite('batteryC', batteryC);
  if (healthRatio !== undefined) requireWithin('healthRatio', healthRatio, [0.01, 2]);
  const facts = batteryFactsOf(battery);
  const nameplateWh = battery.ratedWh * facts.capacityFactorAt(batteryC);
  const leakPerH = selfDischargePerMonth(facts, batteryC) / HOURS_PER_MONTH;
  const drawW = loadW / facts.dischargeEfficiency;
  const hoursWith = (health: number): number => {
    const [fromWh, toWh] = [nameplateWh * health * fromRatio, nameplateWh * health * toRatio];
    return Math.log1p((leakPerH * (fromWh - toWh)) / (drawW + leakPerH * toWh)) / leakPerH;
  };
  const health = healthRatio ?? 1;
  const hours = hoursWith(health);
  const [minC, maxC] = facts.dischargeTemperatureC;
  return {
    hours,
    lowHours: hoursWith(healthRatio === undefined ? WORN_RATIO : healthRatio * 0.9),
    highHours: hoursWith(healthRatio === undefined ? 1 : healthRatio * 1.1),
    usableWh: nameplateWh * health * (fromRatio - toRatio),
    isFasterThanRated:
      battery.chemistry.startsWith('lead-acid') && battery.ratedWh / loadW < RATED_OVER_H,
    isOutsideLimits: batteryC < minC || batteryC > maxC,
  };
}
