/** Wind at a panel on a pole in open country, when nothing measures it. Assumption, no source. */
export const DEFAULT_WIND_MS = 1.5;

/**
 * Temperature of the cells of a panel in free air.
 *
 * @param inputs.airC    air temperature, °C
 * @param inputs.poaWm2  irradiance on the plane of the panel, ≥ 0 W/m²
 * @param inputs.windMs  wind at the panel, ≥ 0 m/s
 * @returns °C, never below the air
 * @accuracy 0.01 °C on 60 cases, test/reference/energy/panel.test.ts
 * @source Faiman 2008, Prog. Photovolt. 16:307, eq. 2; u0 = 25 W/m²K and u1 = 6.84 Ws/m³K, mean of the modules it measured [M]
 */
export function cellTemperatureC(inputs: {
  readonly airC: number;
  readonly poaWm2: number;
  readonly windMs: number;
}): number {
  return inputs.airC + inputs.poaWm2 / (25 + 6.84 * inputs.windMs);
}
