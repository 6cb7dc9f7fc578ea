import { HOUR_MS } from '@duskline/domain';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { clearSkyPanelW } from './clear-sky-panel.ts';
import { EnergyInputError } from './errors.ts';
import { groundAlbedo } from './ground-albedo.ts';
import { monthlyValueAt } from './monthly-value.ts';
import { referenceHourlyWh } from './reference-hourly.ts';

const position = { latitudeDeg: 54.5, longitudeDeg: 0, elevationM: 300 };
const panel = { ratedW: 10, tiltDeg: 60, azimuthDeg: 180 };
const noonMs = Date.UTC(2026, 0, 16, 12);

describe('monthly haze', () => {
  const clean = [2, 3, 3, 3, 3, 3, 3, 3, 3, 3, 3, 3];
  it('is met in the middle of its month and mixed between months', () => {
    expect(monthlyValueAt(clean, Date.UTC(2026, 0, 16, 6))).toBeCloseTo(2, 2);
    expect(monthlyValueAt(clean, Date.UTC(2026, 0, 31, 12))).toBeCloseTo(2.5, 1);
    expect(monthlyValueAt(clean, Date.UTC(2026, 0, 1))).toBeCloseTo(2.5, 2);
    expect(monthlyValueAt(clean, Date.UTC(2026, 6, 16))).toBe(3);
  });

  it('reaches the panel as the same value all year would', () => {
    const by = (linkeTurbidity: number | readonly number[]): number =>
      clearSkyPanelW({ position, panel, atMs: noonMs, linkeTurbidity });
    expect(by(clean)).toBeCloseTo(by(2), 1);
    expect(by(clean)).toBeGreaterThan(by(3));
    expect(by(new Array<number>(12).fill(4))).toBe(by(4));
  });

  it('is refused when it is not twelve numbers, saying which is missing', () => {
    expect(() => clearSkyPanelW({ position, panel, atMs: noonMs, linkeTurbidity: [3] })).toThrow(
      /12 values/,
    );
    const holed = [...clean.slice(0, 11), Number.NaN];
    expect(() => clearSkyPanelW({ position, panel, atMs: noonMs, linkeTurbidity: holed })).toThrow(
      /linkeTurbidity\[11\]/,
    );
  });
});

describe('snow on the ground', () => {
  it('is taken to lie after three days under −2 °C beyond 45°, and may be set', () => {
    const north = { latitudeDeg: 60, dailyAirC: [4, -3, -5, -2.1] };
    expect(groundAlbedo(north)).toBe(0.6);
    expect(groundAlbedo({ ...north, latitudeDeg: -60 })).toBe(0.6);
    expect(groundAlbedo({ ...north, latitudeDeg: 40 })).toBe(0.2);
    expect(groundAlbedo({ ...north, dailyAirC: [-3, -5, -1] })).toBe(0.2);
    expect(groundAlbedo({ ...north, dailyAirC: [-9, -9] })).toBe(0.2);
    const rule = { coldC: 0, coldDays: 1, fromLatitudeDeg: 30, snowAlbedo: 0.8 };
    expect(groundAlbedo({ latitudeDeg: 40, dailyAirC: [-1] }, rule)).toBe(0.8);
  });
});

describe('any panel', () => {
  const place = fc.record({
    latitudeDeg: fc.double({ min: -80, max: 80, noNaN: true }),
    dayMs: fc.integer({ min: 0, max: 364 }).map((day) => Date.UTC(2026, 0, 1) + day * 24 * HOUR_MS),
    tiltDeg: fc.double({ min: 0, max: 90, noNaN: true }),
    ratedW: fc.double({ min: 0.1, max: 100, noNaN: true }),
    more: fc.double({ min: 1, max: 3, noNaN: true }),
    clearSkyIndex: fc.double({ min: 0, max: 1.2, noNaN: true }),
    skyModel: fc.constantFrom('hay-davies', 'perez' as const),
  });

  it('never harvests less when it is larger', () => {
    fc.assert(
      fc.property(place, ({ latitudeDeg, dayMs, tiltDeg, ratedW, more, ...sky }) => {
        const dayWh = (watts: number): number =>
          referenceHourlyWh({
            position: { ...position, latitudeDeg },
            panel: { ratedW: watts, tiltDeg, azimuthDeg: 180 },
            startMs: dayMs,
            hours: 24,
            ...sky,
          }).reduce((sum, wh) => sum + wh, 0);
        const small = dayWh(ratedW);
        expect(small).toBeGreaterThanOrEqual(0);
        expect(dayWh(ratedW * more)).toBeGreaterThanOrEqual(small * (1 - 1e-12));
      }),
      { seed: 20261126, numRuns: 100 },
    );
  });

  it('is refused with a place that does not exist', () => {
    expect(() =>
      clearSkyPanelW({ position: { ...position, latitudeDeg: 91 }, panel, atMs: noonMs }),
    ).toThrow(EnergyInputError);
  });
});
