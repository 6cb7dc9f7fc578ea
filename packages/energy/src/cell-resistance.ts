import type { BatteryFacts } from './batteries/battery-facts.ts';

const ACTIVATION_J_PER_MOL = 20_000; // [M] 20–25 kJ/mol for lithium cells; taken for all
const GAS_CONSTANT_J_PER_MOL_K = 8.314; // CODATA, rounded
const REFERENCE_K = 298.15;

/**
 * Resistance of a pack for loads of seconds to minutes, from the usual resistance of a cell of its size.
 *
 * @param inputs.seriesCells  ≥ 1
 * @param inputs.ratedWh      nameplate energy, > 0
 * @param inputs.batteryC     °C; 25 when left out
 * @returns Ω, rising in the cold; good to a factor of two, until learnt from the site's own steps
 * @source ours: Ω·Ah of the chemistry, Arrhenius law in temperature
 */
export function packResistanceOhm(inputs: {
  readonly facts: BatteryFacts;
  readonly seriesCells: number;
  readonly ratedWh: number;
  readonly batteryC?: number;
}): number {
  const { facts, seriesCells, ratedWh, batteryC } = inputs;
  const ratedAh = ratedWh / (facts.nominalCellV * seriesCells);
  return (seriesCells * facts.resistanceOhmAh * coldFactor(batteryC ?? 25)) / ratedAh;
}

/** How much larger the resistance is than at 25 °C. */
export function coldFactor(batteryC: number): number {
  const kelvin = Math.max(200, batteryC + 273.15);
  return Math.exp(
    (ACTIVATION_J_PER_MOL / GAS_CONSTANT_J_PER_MOL_K) * (1 / kelvin - 1 / REFERENCE_K),
  );
}
