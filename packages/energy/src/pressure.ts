/**
 * Mean air pressure at a height, by the standard atmosphere of the troposphere.
 *
 * @param elevationM  metres above sea level, −500 … 11,000
 * @returns Pa
 * @accuracy the formula of the reference, test/reference/energy/clear-sky.test.ts (through the air mass)
 * @source US Standard Atmosphere 1976, lapse-rate form 101325·(1 − 2.25577e-5·h)^5.25588
 */
export function pressurePa(elevationM: number): number {
  return SEA_LEVEL_PRESSURE_PA * (1 - 2.25577e-5 * elevationM) ** 5.25588;
}

export const SEA_LEVEL_PRESSURE_PA = 101_325; // ISO 2533 standard atmosphere
