/** How slowly a pack in its box follows the air. Assumption, no source. */
export const BATTERY_LAG_H = 4;

/**
 * Temperature of a pack after some hours in the air, as a first-order lag: stands in where no sensor sits on the cells.
 *
 * @param inputs.batteryC  before, °C
 * @param inputs.airC      of the air over these hours, °C
 * @param inputs.hours     ≥ 0
 * @returns °C, between the two
 * @source ours: exact solution of T' = (air − T) / 4 h
 */
export function laggedBatteryC(inputs: {
  readonly batteryC: number;
  readonly airC: number;
  readonly hours: number;
}): number {
  const { batteryC, airC, hours } = inputs;
  return airC + (batteryC - airC) * Math.exp(-hours / BATTERY_LAG_H);
}
