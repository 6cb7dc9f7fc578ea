import { cosDeg } from './angle.ts';

/**
 * Length of the path of sunlight through the air, as a multiple of the path from the zenith.
 *
 * @param apparentZenithDeg  zenith angle after refraction, 0 … 180
 * @returns 1 (overhead) … 38 (horizon); Infinity below the horizon, where no light arrives
 * @accuracy 0.0001 against test/reference/energy/clear-sky.test.ts
 * @source Kasten & Young 1989, Applied Optics 28:4735
 */
export function relativeAirMass(apparentZenithDeg: number): number {
  if (apparentZenithDeg > 90) return Infinity;
  return (
    1 / (cosDeg(apparentZenithDeg) + 0.50572 * (6.07995 + (90 - apparentZenithDeg)) ** -1.6364)
  );
}
