import { DAY_MS, MINUTE_MS } from '@duskline/domain';
import {
  apparentElevationDeg,
  clearSky,
  extraterrestrialNormalWm2,
  type Irradiance,
  pressurePa,
  sunPosition,
} from '@duskline/energy';
import { describe, it } from 'vitest';
import { readCases } from './read-cases.ts';
import { expectAllWithin } from './worst-case.ts';

interface DayCase {
  readonly date: string;
  readonly latitudeDeg: number;
  readonly longitudeDeg: number;
  readonly elevationM: number;
  readonly linkeTurbidity: number;
  readonly ghiKwhM2: number;
  readonly dniKwhM2: number;
  readonly dhiKwhM2: number;
}

const STEP_MS = 5 * MINUTE_MS; // as the reference integrates
const RELATIVE_TOLERANCE = 0.01; // a simpler sun
const LEAST_TOLERANCE_KWH = 0.02; // days of almost no light

/** The day's sum of one part of the irradiance, from our own chain of sun and sky. */
function dailyKwhM2(row: DayCase, part: keyof Irradiance): number {
  const startMs = Date.parse(row.date);
  let sumWhM2 = 0;
  for (let atMs = startMs + STEP_MS / 2; atMs < startMs + DAY_MS; atMs += STEP_MS) {
    const { zenithDeg } = sunPosition(atMs, row.latitudeDeg, row.longitudeDeg);
    const sky = clearSky({
      apparentZenithDeg: 90 - apparentElevationDeg(90 - zenithDeg, pressurePa(row.elevationM), 12),
      elevationM: row.elevationM,
      linkeTurbidity: row.linkeTurbidity,
      extraterrestrialWm2: extraterrestrialNormalWm2(atMs),
    });
    sumWhM2 += sky[part] * (5 / 60);
  }
  return sumWhM2 / 1000;
}

// Source: pvlib-python, see clear-sky-daily.json.
describe('the sum of a cloudless day', () => {
  const days = readCases<DayCase>('clear-sky-daily', 27);

  for (const [part, column] of [
    ['ghiWm2', 'ghiKwhM2'],
    ['dniWm2', 'dniKwhM2'],
    ['dhiWm2', 'dhiKwhM2'],
  ] as const) {
    it(`matches the reference in ${part} at nine places from pole to equator`, () => {
      expectAllWithin(
        days,
        (row) =>
          (dailyKwhM2(row, part) - row[column]) /
          Math.max(LEAST_TOLERANCE_KWH, RELATIVE_TOLERANCE * row[column]),
        { tolerance: 1, count: 27 }, // in units of the tolerance
      );
    });
  }
});
