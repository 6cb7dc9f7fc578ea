import type { BatteryChemistry } from '@duskline/domain';
import type { BatteryFacts } from './batteries/battery-facts.ts';
import { batteryOf } from './batteries/battery-of.ts';
import { packResistanceOhm } from './cell-resistance.ts';
import { interpolate } from './piecewise.ts';
import { requireFinite, requireWithin } from './require-number.ts';

/**
 * Voltage a pack shows at a charge, at rest or with a current: the forward form of `chargeFromVoltage`.
 *
 * @param inputs.seriesCells  ≥ 1
 * @param inputs.chargeRatio  0 … 1
 * @param inputs.currentA     positive = charging; 0 when left out
 * @param inputs.ratedWh      nameplate energy; without it the current is not accounted for
 * @param inputs.batteryC     °C; 25 when left out
 * @param inputs.facts        of a builder's own battery, in place of the chemistry's
 * @param inputs.resistanceOhm  learnt from the site, in place of the usual one
 * @returns V of the whole pack
 * @throws EnergyInputError when an input is out of range
 * @accuracy ±20 mV per cell between makes at rest
 * @source `batteryOf(chemistry).sources`
 */
export function voltageFromCharge(inputs: {
  readonly chemistry: BatteryChemistry;
  readonly seriesCells: number;
  readonly chargeRatio: number;
  readonly currentA?: number;
  readonly ratedWh?: number;
  readonly batteryC?: number;
  readonly facts?: BatteryFacts;
  readonly resistanceOhm?: number;
}): number {
  const { chemistry, seriesCells, chargeRatio, currentA = 0, ratedWh, batteryC = 25 } = inputs;
  const { resistanceOhm } = inputs;
  requireWithin('seriesCells', seriesCells, [1, 1000]);
  requireWithin('chargeRatio', chargeRatio, [0, 1]);
  requireFinite('currentA', currentA);
  requireFinite('batteryC', batteryC);
  const facts = inputs.facts ?? batteryOf(chemistry);
  const restV = interpolate(facts.ocvPoints, chargeRatio) * seriesCells;
  if (resistanceOhm !== undefined) return restV + currentA * resistanceOhm;
  if (ratedWh === undefined) return restV;
  return restV + currentA * packResistanceOhm({ facts, seriesCells, ratedWh, batteryC });
}
