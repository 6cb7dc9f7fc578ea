import { HOUR_MS } from '@duskline/domain';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { clearSkyPanelW } from './clear-sky-panel.ts';
import { type Horizon, horizonHeight, skyViewRatio } from './horizon.ts';
import { referenceHourlyWh } from './reference-hourly.ts';
import { sunPosition } from './sun-position.ts';

const ring = (heightDeg: number): Horizon =>
  Array.from({ length: 12 }, (_, index) => ({ azimuthDeg: index * 30, heightDeg }));
const position = { latitudeDeg: 54.5, longitudeDeg: 0, elevationM: 300 };
const panel = { ratedW: 10, tiltDeg: 45, azimuthDeg: 180 };
const midsummerMs = Date.UTC(2026, 5, 21);

describe('horizonHeight', () => {
  it('runs straight between points, around north too', () => {
    const height = horizonHeight([
      { azimuthDeg: 350, heightDeg: 10 },
      { azimuthDeg: 10, heightDeg: 20 },
      { azimuthDeg: 180, heightDeg: 0 },
    ]);
    expect(height(0)).toBeCloseTo(15, 9);
    expect(height(355)).toBeCloseTo(12.5, 9);
    expect(height(-5)).toBeCloseTo(12.5, 9);
    expect(height(95)).toBeCloseTo(10, 9);
    expect(height(180)).toBe(0);
  });

  it('is level without points, and names a point that cannot be', () => {
    expect(horizonHeight([])(123)).toBe(0);
    expect(() => horizonHeight([{ azimuthDeg: 0, heightDeg: 95 }])).toThrow(
      /horizon\[0\]\.heightDeg/,
    );
  });
});

describe('skyViewRatio', () => {
  // Source: the even sky over a level panel in a ring wall of height h gives cos²h of the light; Oke, Boundary Layer Climates.
  it('is cos² of the height of a ring wall for a level panel', () => {
    for (const heightDeg of [0, 15, 30, 45, 60]) {
      const expected = Math.cos((heightDeg * Math.PI) / 180) ** 2;
      expect(skyViewRatio(ring(heightDeg), { tiltDeg: 0, azimuthDeg: 0 })).toBeCloseTo(expected, 2);
    }
  });

  it('never grows when the skyline does', () => {
    const heights = fc.array(fc.double({ min: 0, max: 60, noNaN: true }), {
      minLength: 6,
      maxLength: 6,
    });
    const surface = fc.record({
      tiltDeg: fc.double({ min: 0, max: 90, noNaN: true }),
      azimuthDeg: fc.double({ min: 0, max: 360, noNaN: true }),
    });
    fc.assert(
      fc.property(heights, surface, fc.double({ min: 0, max: 30, noNaN: true }), (low, of, by) => {
        const skyline = (more: number): Horizon =>
          low.map((heightDeg, index) => ({ azimuthDeg: index * 60, heightDeg: heightDeg + more }));
        expect(skyViewRatio(skyline(by), of)).toBeLessThanOrEqual(skyViewRatio(skyline(0), of));
      }),
      { seed: 20261126, numRuns: 30 },
    );
  });
});

describe('a panel behind a skyline', () => {
  const atMs = midsummerMs + 8 * HOUR_MS;
  const sun = sunPosition(atMs, position.latitudeDeg, position.longitudeDeg);
  const wall = (from: number, to: number, heightDeg: number): Horizon => [
    { azimuthDeg: from, heightDeg: 0 },
    { azimuthDeg: from + 0.1, heightDeg },
    { azimuthDeg: to - 0.1, heightDeg },
    { azimuthDeg: to, heightDeg: 0 },
  ];
  const heightDeg = 90 - sun.zenithDeg;
  const { azimuthDeg } = sun;

  it('loses the beam only while the sun stands behind it', () => {
    const open = clearSkyPanelW({ position, panel, atMs });
    const behind = wall(azimuthDeg - 10, azimuthDeg + 10, heightDeg + 2);
    const under = wall(azimuthDeg - 10, azimuthDeg + 10, heightDeg - 2);
    const beside = wall(azimuthDeg + 40, azimuthDeg + 60, heightDeg + 2);
    expect(clearSkyPanelW({ position, panel, atMs, horizon: behind })).toBeLessThan(0.4 * open);
    for (const horizon of [under, beside]) {
      const left = clearSkyPanelW({ position, panel, atMs, horizon });
      expect(left).toBeGreaterThan(0.95 * open);
      expect(left).toBeLessThan(open);
    }
  });

  it('gives the same as in the open over a level skyline, and nothing from below a wall but sky', () => {
    const day = { position, panel, startMs: midsummerMs, hours: 24 };
    const sum = (horizon?: Horizon): number =>
      referenceHourlyWh({ ...day, ...(horizon && { horizon }) }).reduce((a, b) => a + b, 0);
    expect(sum([]) / sum()).toBeCloseTo(1, 2);
    expect(sum(ring(0)) / sum()).toBeCloseTo(1, 2);
    expect(sum(ring(80))).toBeLessThan(0.12 * sum());
  });
});
