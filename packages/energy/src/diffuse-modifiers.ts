import { type CurvePoints, interpolate } from './piecewise.ts';

/** Tilt in degrees → share let through. Marion 2017 integrals of the physical modifier, evaluated with pvlib-python (BSD-3). */
const SKY: CurvePoints = [
  [0, 0.94439],
  [15, 0.95131],
  [30, 0.95768],
  [45, 0.95965],
  [60, 0.95803],
  [90, 0.9444],
];
const GROUND: CurvePoints = [
  [0, 0],
  [15, 0.54663],
  [30, 0.75971],
  [45, 0.85566],
  [60, 0.90357],
  [90, 0.9444],
];

/**
 * Share of diffuse light that a glass cover lets through, from an even sky and from even ground.
 *
 * @param tiltDeg  0 … 90; beyond it the nearest end
 * @returns shares 0 … 1. A flat panel sees no ground: its share is 0 of nothing.
 * @accuracy exact at the six tilts, 0.002 (sky) between them; the ground share is up to 0.07 low near 7°, where the panel sees
 *           less than 0.5 % of the ground: test/reference/energy/incidence.test.ts
 * @source Marion 2017, Solar Energy 147:344
 */
export function diffuseModifiers(tiltDeg: number): {
  readonly sky: number;
  readonly ground: number;
} {
  return { sky: interpolate(SKY, tiltDeg), ground: interpolate(GROUND, tiltDeg) };
}
