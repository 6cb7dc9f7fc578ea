/**
 * Diffuse share of level irradiance from the clearness index.
 *
 * @param clearness  hourly clearness index, ≥ 0
 * @returns 0.165 … 1; steps by 0.001 at 0.22 and 0.80, as published
 * @accuracy 0.0001, test/reference/energy/decomposition.test.ts
 * @source Erbs, Klein & Duffie 1982, Solar Energy 28:293, eq. 1
 */
export function erbsDiffuseFraction(clearness: number): number {
  const kt = Math.max(0, clearness);
  if (kt <= 0.22) return 1 - 0.09 * kt;
  if (kt <= 0.8) return 0.9511 + kt * (-0.1604 + kt * (4.388 + kt * (-16.638 + kt * 12.336)));
  return 0.165;
}
