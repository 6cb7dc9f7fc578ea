import { clearSky, pressurePa, relativeAirMass } from '@duskline/energy';
import { describe, it } from 'vitest';
import { readCases } from './read-cases.ts';
import { expectAllWithin } from './worst-case.ts';

interface SkyCase {
  readonly apparentZenithDeg: number;
  readonly elevationM: number;
  readonly linkeTurbidity: number;
  readonly extraterrestrialWm2: number;
  readonly relativeAirMass: number;
  readonly absoluteAirMass: number;
  readonly ghiWm2: number;
  readonly dniWm2: number;
  readonly dhiWm2: number;
}

const AIR_MASS_TOLERANCE = 1e-4; // the table rounds to 1e-5
const IRRADIANCE_TOLERANCE_WM2 = 0.05; // same equations
const SEA_LEVEL = 0;

const cases = readCases<SkyCase>('clear-sky', 192);

// Source: pvlib-python, see clear-sky.json. Primary: Ineichen & Perez 2002; Kasten & Young 1989.
describe('the cloudless sky', () => {
  it('has the published air mass', () => {
    expectAllWithin(cases, (row) => relativeAirMass(row.apparentZenithDeg) - row.relativeAirMass, {
      tolerance: AIR_MASS_TOLERANCE,
      count: 192,
    });
  });

  it('has the air pressure of the standard atmosphere at each height', () => {
    expectAllWithin(
      cases,
      (row) => pressurePa(row.elevationM) / 101_325 - row.absoluteAirMass / row.relativeAirMass,
      { tolerance: AIR_MASS_TOLERANCE, count: 192 },
    );
  });

  for (const part of ['ghiWm2', 'dniWm2', 'dhiWm2'] as const) {
    it(`matches the reference model in ${part}`, () => {
      expectAllWithin(cases, (row) => clearSky(row)[part] - row[part], {
        tolerance: IRRADIANCE_TOLERANCE_WM2,
        count: 192,
      });
    });
  }

  // Source: Haurwitz 1945, an older model of another kind, sea level, see haurwitz.json.
  it('stays within a twentieth of another model at sea level while the sun is high', () => {
    const haurwitz = readCases<{ apparentZenithDeg: number; ghiWm2: number }>('haurwitz', 12);
    const high = haurwitz.filter((row) => row.apparentZenithDeg <= 60);
    expectAllWithin(
      high,
      (row) =>
        clearSky({
          apparentZenithDeg: row.apparentZenithDeg,
          elevationM: SEA_LEVEL,
          linkeTurbidity: 3,
          extraterrestrialWm2: 1361.1,
        }).ghiWm2 /
          row.ghiWm2 -
        1,
      { tolerance: 0.05, count: 7 }, // both models are a few per cent from measurement
    );
  });
});
