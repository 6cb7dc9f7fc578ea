/** Power lost per kelvin of cell temperature, crystalline silicon. [M] Dobos 2014 takes −0.0047 for a standard module; −0.004 is common today. */
export const DEFAULT_GAMMA_PER_K = -0.004;

/**
 * Direct-current power of a panel at its best working point.
 *
 * @param inputs.ratedW    nameplate power at 1000 W/m² and 25 °C
 * @param inputs.poaWm2    irradiance that reaches the cells, ≥ 0 W/m²
 * @param inputs.cellC     cell temperature, °C
 * @param inputs.gammaPerK change of power per kelvin, negative; see DEFAULT_GAMMA_PER_K
 * @returns W, ≥ 0
 * @accuracy 0.001 W on 162 cases, test/reference/energy/panel.test.ts
 * @source Dobos 2014, PVWatts Version 5 Manual, NREL/TP-6A20-62641
 */
export function panelDcW(inputs: {
  readonly ratedW: number;
  readonly poaWm2: number;
  readonly cellC: number;
  readonly gammaPerK: number;
}): number {
  const { ratedW, poaWm2, cellC, gammaPerK } = inputs;
  return Math.max(0, ((ratedW * poaWm2) / 1000) * (1 + gammaPerK * (cellC - 25)));
}
