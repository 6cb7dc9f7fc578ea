import { HOUR_MS } from '@duskline/domain';
import { describe, expect, it } from 'vitest';
import { lightOnPanel } from './sky-on-panel.ts';

const position = { latitudeDeg: 54.9, longitudeDeg: 0, elevationM: 200 };
const south = { ratedW: 20, tiltDeg: 68, azimuthDeg: 180 };
const open = () => 1;
const noon = Date.UTC(2026, 2, 20, 12);
const light = (over: { atMs?: number; cloud?: number; azimuthDeg?: number; kept?: number } = {}) =>
  lightOnPanel(
    over.atMs ?? noon,
    { position, panel: { ...south, azimuthDeg: over.azimuthDeg ?? 180 } },
    over.cloud ?? 0,
    over.kept === undefined ? open : () => over.kept ?? 1,
  );

describe('light on a panel', () => {
  it('is nothing at night', () => {
    expect(light({ atMs: noon - 12 * HOUR_MS })).toEqual({
      planeWm2: 0,
      levelWm2: 0,
      sunUp: false,
    });
  });

  // Kasten & Czeplak 1980, Solar Energy 24:177: global irradiance under cloud N eighths is G0 (1 − 0.75 (N/8)^3.4).
  it.each([
    [1, 0.25],
    [0.5, 0.929],
  ])('falls with cloud %f to %f of a clear sky on the flat', (cloud, share) => {
    expect(light({ cloud }).levelWm2 / light().levelWm2).toBeCloseTo(share, 3);
  });

  it('at an equinox noon is of the size of clear days, and never above the sun outside the air', () => {
    const { planeWm2, levelWm2 } = light();
    // sin(90° − 54.9°) = 0.575 of the solar constant of 1361 W/m² is 783 W/m² above the air.
    expect(levelWm2).toBeGreaterThan(450);
    expect(levelWm2).toBeLessThan(783);
    expect(planeWm2).toBeGreaterThan(levelWm2);
    expect(planeWm2).toBeLessThan(1361);
  });

  it('is less on a panel that faces north, but not nothing: the sky and the ground shine', () => {
    const north = light({ azimuthDeg: 0 }).planeWm2;
    expect(north).toBeGreaterThan(30);
    expect(north).toBeLessThan(light().planeWm2 / 3);
  });

  it('loses the beam and some sky behind leaves', () => {
    const shaded = light({ kept: 0.2 }).planeWm2 / light().planeWm2;
    expect(shaded).toBeGreaterThan(0.2);
    expect(shaded).toBeLessThan(0.6);
    const overcast = light({ cloud: 1, kept: 0.2 }).planeWm2 / light({ cloud: 1 }).planeWm2;
    expect(overcast).toBeGreaterThan(shaded);
  });
});
