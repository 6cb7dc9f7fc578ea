import { DAY_MS } from '@duskline/domain';
import { dailyExtraterrestrialMj, extraterrestrialNormalWm2 } from '@duskline/energy';
import { describe, expect, it } from 'vitest';
import { readCases } from './read-cases.ts';
import { expectAllWithin } from './worst-case.ts';

interface DailyCase {
  readonly latitudeDeg: number;
  readonly dayOfYear: number;
  readonly dailyMj: number;
}

const SAME_EQUATION_TOLERANCE_MJ = 0.01; // the table rounds to 0.01
const FAO_TOLERANCE_MJ = 0.15; // its declination series differs from Cooper's by up to 0.1°
const BOOK_TOLERANCE_MJ = 0.05; // printed to 0.1
const SPENCER_TOLERANCE_WM2 = 0.01; // the table rounds to 0.01
const ORBIT_TOLERANCE_WM2 = 1.5; // a four-term series against the true distance, 0.1 %

const ours = (row: DailyCase): number => dailyExtraterrestrialMj(row.latitudeDeg, row.dayOfYear);

describe('daily sunlight above the air', () => {
  // Source: Duffie & Beckman eq. 1.10.3 computed by another program, see extraterrestrial-daily.json.
  it('matches the textbook equation on every mean day of the month', () => {
    expectAllWithin(
      readCases<DailyCase>('extraterrestrial-daily', 132),
      (row) => ours(row) - row.dailyMj,
      {
        tolerance: SAME_EQUATION_TOLERANCE_MJ,
        count: 132,
      },
    );
  });

  // Source: Duffie & Beckman example 1.10.1, Madison 43 N, 15 April: 33.8 MJ/m² (from memory).
  it('matches the worked example of the textbook', () => {
    expect(Math.abs(dailyExtraterrestrialMj(43, 105) - 33.8)).toBeLessThanOrEqual(
      BOOK_TOLERANCE_MJ,
    );
  });

  // Source: FAO Irrigation and Drainage Paper 56, eq. 21, see extraterrestrial-fao56.json.
  it('agrees with the equations of FAO-56', () => {
    expectAllWithin(
      readCases<DailyCase>('extraterrestrial-fao56', 50),
      (row) => ours(row) - row.dailyMj,
      {
        tolerance: FAO_TOLERANCE_MJ,
        count: 50,
      },
    );
  });

  // Source: FAO-56 example 8: 20 S, 3 September, 32.2 MJ/m² as printed.
  it('agrees with example 8 of FAO-56', () => {
    expect(Math.abs(dailyExtraterrestrialMj(-20, 246) - 32.2)).toBeLessThanOrEqual(
      FAO_TOLERANCE_MJ,
    );
  });

  // Source: FAO-56 table 2.6 rows for 0 and 40 N, 15th of each month (from memory).
  it('agrees with two rows of the FAO-56 table', () => {
    const rows: readonly (readonly [number, readonly number[]])[] = [
      [0, [36.2, 37.5, 37.9, 36.8, 34.8, 33.4, 33.9, 35.7, 37.2, 37.4, 36.3, 35.6]],
      [40, [15.0, 20.4, 27.2, 34.7, 39.7, 41.9, 40.8, 36.7, 30.0, 22.5, 16.3, 13.6]],
    ];
    const cases = rows.flatMap(([latitudeDeg, printed]) =>
      printed.map((dailyMj, month) => ({
        latitudeDeg,
        dayOfYear: (Date.UTC(2025, month, 15) - Date.UTC(2025, 0, 1)) / DAY_MS + 1,
        dailyMj,
      })),
    );
    expectAllWithin(cases, (row) => ours(row) - row.dailyMj, { tolerance: 0.2, count: 24 }); // printed to 0.1
  });
});

interface NormalCase {
  readonly dayOfYear: number;
  readonly spencerWm2: number;
  readonly exactWm2: number;
}

// Source: Spencer 1971 and the exact distance by pvlib-python, see extraterrestrial-normal.json.
describe('normal sunlight above the air', () => {
  const days = readCases<NormalCase>('extraterrestrial-normal', 10);
  const at = (row: NormalCase): number =>
    extraterrestrialNormalWm2(Date.UTC(2025, 0, 1, 12) + (row.dayOfYear - 1) * DAY_MS);

  it('matches the published series', () => {
    expectAllWithin(days, (row) => at(row) - row.spencerWm2, {
      tolerance: SPENCER_TOLERANCE_WM2,
      count: 10,
    });
  });

  it('stays near the exact orbit', () => {
    expectAllWithin(days, (row) => at(row) - row.exactWm2, {
      tolerance: ORBIT_TOLERANCE_WM2,
      count: 10,
    });
  });
});
