import { erbsDiffuseFraction, splitErbs } from '@duskline/energy';
import { describe, it } from 'vitest';
import { readCases } from './read-cases.ts';
import { expectAllWithin } from './worst-case.ts';

interface SplitCase {
  readonly ghiWm2: number;
  readonly zenithDeg: number;
  readonly extraterrestrialWm2: number;
  readonly dhiWm2: number;
  readonly dniWm2: number;
}

const SPLIT_TOLERANCE_WM2 = 0.01; // same equation, table rounded to 0.001
const FRACTION_TOLERANCE = 1e-4;
/** The correlation steps at 0.22 and 0.80: a table rounded to 0.001 W/m² may stand on either side. */
const STEPS = [0.22, 0.8];
const LOWEST_COSINE = 0.065; // the clearness index of the reference

// Source: Erbs, Klein & Duffie 1982 by pvlib-python, see erbs-split.json and erbs-diffuse-fraction.json.
describe('the split of level irradiance into beam and diffuse', () => {
  const clearness = (row: SplitCase): number =>
    row.ghiWm2 /
    (row.extraterrestrialWm2 * Math.max(LOWEST_COSINE, Math.cos((row.zenithDeg * Math.PI) / 180)));
  const cases = readCases<SplitCase>('erbs-split', 50).filter((row) =>
    STEPS.every((step) => Math.abs(clearness(row) - step) > 0.001),
  );

  it('has the published diffuse part', () => {
    expectAllWithin(cases, (row) => splitErbs(row).dhiWm2 - row.dhiWm2, {
      tolerance: SPLIT_TOLERANCE_WM2,
      count: 40,
    });
  });

  it('has the published beam', () => {
    expectAllWithin(cases, (row) => splitErbs(row).dniWm2 - row.dniWm2, {
      tolerance: 0.02, // the diffuse error divided by cos 82°
      count: 40,
    });
  });

  it('has the published diffuse fraction at every clearness', () => {
    expectAllWithin(
      readCases<{ clearness: number; diffuseFraction: number }>('erbs-diffuse-fraction', 11),
      (row) => erbsDiffuseFraction(row.clearness) - row.diffuseFraction,
      { tolerance: FRACTION_TOLERANCE, count: 11 },
    );
  });
});
