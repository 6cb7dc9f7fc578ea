import { requireWithin } from './require-number.ts';

/** Best working voltage of a panel over the nominal voltage it is sold for: 17.5 V of a "12 V" panel. From memory. */
const BEST_OVER_NOMINAL = 17.5 / 12;

/**
 * What a direct (switched or linear) charger gets out of a panel, as a share of its best working point: the panel is held at
 * battery voltage, where it gives its current and no more.
 *
 * @param inputs.batteryV    voltage of the pack while charging, > 0
 * @param inputs.panelBestV  voltage of the panel at its best point, > 0; from the nominal voltage when left out
 * @param inputs.nominalV    nominal voltage the panel was chosen for, > 0; only needed without panelBestV
 * @returns 0 … 1; 0 when the battery stands above the panel's best point by more than its open circuit can follow (1.2 ×)
 * @throws EnergyInputError when a voltage is not above zero
 * @source research note of this project: P = P0 · V_battery / V_best, the current being nearly level below the best point;
 *         the straight fall to the open circuit at 1.2 × is an assumption
 */
export function directPanelShare(inputs: {
  readonly batteryV: number;
  readonly panelBestV?: number;
  readonly nominalV?: number;
}): number {
  const { batteryV, nominalV } = inputs;
  const panelBestV = inputs.panelBestV ?? (nominalV ?? Number.NaN) * BEST_OVER_NOMINAL;
  requireWithin('batteryV', batteryV, [Number.MIN_VALUE, Number.MAX_VALUE]);
  requireWithin('panelBestV', panelBestV, [Number.MIN_VALUE, Number.MAX_VALUE]);
  const ratio = batteryV / panelBestV;
  return ratio <= 1 ? ratio : Math.max(0, (1.2 - ratio) / 0.2);
}
