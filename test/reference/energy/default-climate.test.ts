import { defaultClimate } from '@duskline/forecast';
import { describe, it } from 'vitest';
import { readCases } from './read-cases.ts';
import { expectAllWithin } from './worst-case.ts';

interface MonthCase {
  readonly place: string;
  readonly latitudeDeg: number;
  readonly month: number;
  readonly clearness: number;
  readonly airC: number;
}

/** What the table says of itself: a tenth or so between places of one latitude; a desert is far clearer than its latitude. */
const CLEARNESS_TOLERANCE = 0.12;
const DESERT_TOLERANCE = 0.2;
const AIR_TOLERANCE_C = 10; // sea, continent and height at one latitude

// Source: measured records of six places, see monthly-climate.json. The table was recalled before they were looked at.
describe('the climate assumed where nobody states one', () => {
  const cases = readCases<MonthCase>('monthly-climate', 72);
  const off = (row: MonthCase): number =>
    defaultClimate(row.latitudeDeg).clearnessByMonth[row.month - 1]! - row.clearness;

  it('is near the measured clearness outside deserts', () => {
    expectAllWithin(
      cases.filter((row) => row.place !== 'Maricopa'),
      off,
      { tolerance: CLEARNESS_TOLERANCE, count: 60 },
    );
  });

  it('is too dull for a desert, never by more than a fifth of the scale', () => {
    expectAllWithin(
      cases.filter((row) => row.place === 'Maricopa'),
      off,
      { tolerance: DESERT_TOLERANCE, count: 12 },
    );
  });

  it('is in the right season for the air', () => {
    expectAllWithin(
      cases,
      (row) => defaultClimate(row.latitudeDeg).airCByMonth[row.month - 1]! - row.airC,
      { tolerance: AIR_TOLERANCE_C, count: 72 },
    );
  });
});
