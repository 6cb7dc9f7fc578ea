import type { BatteryChemistry } from '@duskline/domain';

/**
 * Resting voltage of one cell by charge (0, 0.1 … 1), rounded from published curves: NMC Chen et al. 2020, LFP Prada et
 * al. 2013, lead-acid from a charge-controller maker's rest table ÷ 6. From memory to two digits: good for a pretend fleet.
 */
const cellVolts: Readonly<Record<BatteryChemistry, readonly number[]>> = {
  'li-ion-nmc': [3.0, 3.3, 3.49, 3.58, 3.67, 3.75, 3.84, 3.95, 4.02, 4.09, 4.18],
  'li-ion-lco': [3.0, 3.45, 3.6, 3.69, 3.76, 3.81, 3.87, 3.94, 4.02, 4.1, 4.19],
  lifepo4: [2.6, 3.18, 3.23, 3.27, 3.285, 3.29, 3.3, 3.32, 3.325, 3.33, 3.42],
  'lead-acid-flooded': [1.75, 1.885, 1.93, 1.958, 1.983, 2.01, 2.033, 2.053, 2.07, 2.083, 2.117],
  'lead-acid-agm': [1.77, 1.9, 1.945, 1.973, 1.998, 2.025, 2.048, 2.068, 2.085, 2.1, 2.13],
  nimh: [1.0, 1.2, 1.23, 1.25, 1.26, 1.27, 1.28, 1.3, 1.32, 1.35, 1.4],
};

/** Resting voltage of a battery of so many cells in series at this charge (0–1). */
export function openCircuitV(
  chemistry: BatteryChemistry,
  seriesCells: number,
  charge: number,
): number {
  const curve = cellVolts[chemistry];
  const position = Math.min(Math.max(charge, 0), 1) * (curve.length - 1);
  const index = Math.min(Math.floor(position), curve.length - 2);
  const [low = 0, high = 0] = [curve[index], curve[index + 1]];
  return seriesCells * (low + (high - low) * (position - index));
}

/** The middle voltage of the curve: turns watt-hours into ampere-hours. */
export function nominalV(chemistry: BatteryChemistry, seriesCells: number): number {
  return openCircuitV(chemistry, seriesCells, 0.5);
}
