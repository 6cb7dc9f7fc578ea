import { planeOfArray } from '@duskline/energy';
import { describe, expect, it } from 'vitest';
import { readCases } from './read-cases.ts';
import { expectAllWithin } from './worst-case.ts';

interface PlaneCase {
  readonly zenithDeg: number;
  readonly azimuthDeg: number;
  readonly tiltDeg: number;
  readonly surfaceAzimuthDeg: number;
  readonly dniWm2: number;
  readonly dhiWm2: number;
  readonly ghiWm2: number;
  readonly extraterrestrialWm2: number;
  readonly albedo: number;
  readonly beamWm2: number;
  readonly groundWm2: number;
  readonly skyWm2: number;
}

const PLANE_TOLERANCE_WM2 = 0.05; // same equations; the table's inputs are rounded

// Source: Hay & Davies 1980 and Liu & Jordan 1963 by pvlib-python, see hay-davies.json.
describe('irradiance on the plane of a panel', () => {
  const cases = readCases<PlaneCase>('hay-davies', 150);
  const ours = (row: PlaneCase): ReturnType<typeof planeOfArray> =>
    planeOfArray({
      ...row,
      sun: row,
      surface: { tiltDeg: row.tiltDeg, azimuthDeg: row.surfaceAzimuthDeg },
    });

  for (const part of ['beamWm2', 'skyWm2', 'groundWm2'] as const) {
    it(`matches the reference in ${part}`, () => {
      expectAllWithin(cases, (row) => ours(row)[part] - row[part], {
        tolerance: PLANE_TOLERANCE_WM2,
        count: 150,
      });
    });
  }

  it('adds up', () => {
    expectAllWithin(
      cases,
      (row) => ours(row).totalWm2 - (row.beamWm2 + row.skyWm2 + row.groundWm2),
      { tolerance: PLANE_TOLERANCE_WM2, count: 150 },
    );
  });
});

// Source: Perez et al. 1990 by pvlib-python, see perez.json.
describe('the sky on the plane by the model of Perez', () => {
  interface PerezCase extends Omit<PlaneCase, 'albedo' | 'beamWm2' | 'groundWm2'> {
    readonly airMass: number;
    readonly evenSkyWm2: number;
  }
  const cases = readCases<PerezCase>('perez', 150);
  const ours = (row: PerezCase): ReturnType<typeof planeOfArray> =>
    planeOfArray({
      ...row,
      sun: row,
      surface: { tiltDeg: row.tiltDeg, azimuthDeg: row.surfaceAzimuthDeg },
      albedo: 0.2,
      skyModel: 'perez',
    });

  it('matches the reference', () => {
    expectAllWithin(cases, (row) => ours(row).skyWm2 - row.skyWm2, {
      tolerance: PLANE_TOLERANCE_WM2,
      count: 150,
    });
  });

  it('is told apart from an even sky by the reference', () => {
    expect(cases.filter((row) => Math.abs(row.skyWm2 - row.evenSkyWm2) > 5).length).toBeGreaterThan(
      75,
    );
  });
});
