import { DAY_MS, HOUR_MS, MINUTE_MS } from '@duskline/domain';
import { describe, expect, it } from 'vitest';
import { clearSkyPanelW } from './clear-sky-panel.ts';
import { EnergyInputError } from './errors.ts';
import { createPanelChain } from './panel-chain.ts';
import { referenceHourlyWh } from './reference-hourly.ts';

const position = { latitudeDeg: 54.3, longitudeDeg: -2.2, elevationM: 300 };
const panel = { ratedW: 20, tiltDeg: 65, azimuthDeg: 180 };
const winterMs = Date.UTC(2026, 11, 21);

const sum = (values: Float64Array): number => values.reduce((total, value) => total + value, 0);

describe('referenceHourlyWh', () => {
  // The quadrature is checked against a finer one of another kind; the power itself has its own references.
  it('comes within 0.3 % of one-minute midpoints, day by day and at every season', () => {
    for (const startMs of [winterMs, Date.UTC(2026, 2, 20), Date.UTC(2026, 5, 21)]) {
      const chain = createPanelChain({ position, panel });
      let fineWh = 0;
      for (let atMs = startMs + MINUTE_MS / 2; atMs < startMs + DAY_MS; atMs += MINUTE_MS) {
        fineWh += chain(atMs) / 60;
      }
      const coarseWh = sum(referenceHourlyWh({ position, panel, startMs, hours: 24 }));
      expect(Math.abs(coarseWh / fineWh - 1)).toBeLessThan(0.003);
    }
  });

  it('gives the same day from any start', () => {
    const whole = referenceHourlyWh({ position, panel, startMs: winterMs, hours: 48 });
    const later = referenceHourlyWh({
      position,
      panel,
      startMs: winterMs + 10 * HOUR_MS,
      hours: 24,
    });
    for (let hour = 0; hour < 24; hour += 1) expect(later[hour]).toBeCloseTo(whole[hour + 10]!, 9);
  });

  it('copes with a start that is no whole hour, nor a whole millisecond', () => {
    const startMs = winterMs + 0.37 + 17 * MINUTE_MS;
    const hours = referenceHourlyWh({ position, panel, startMs, hours: 24 });
    const day = referenceHourlyWh({ position, panel, startMs: winterMs, hours: 24 });
    expect(sum(hours)).toBeCloseTo(sum(day), 1);
  });

  it('is nothing at night, through a polar night, and for no hours', () => {
    expect(referenceHourlyWh({ position, panel, startMs: winterMs, hours: 7 })).toEqual(
      new Float64Array(7),
    );
    const north = { latitudeDeg: 78, longitudeDeg: 15, elevationM: 0 };
    const polar = referenceHourlyWh({ position: north, panel, startMs: winterMs, hours: 240 });
    expect(polar).toEqual(new Float64Array(240));
    expect(referenceHourlyWh({ position, panel, startMs: winterMs, hours: 0 })).toHaveLength(0);
  });

  it('shines all night in polar day', () => {
    const north = { latitudeDeg: 78, longitudeDeg: 15, elevationM: 0 };
    const hours = referenceHourlyWh({
      position: north,
      panel: { ...panel, tiltDeg: 0 },
      startMs: Date.UTC(2026, 5, 21),
      hours: 24,
    });
    expect(Math.min(...hours)).toBeGreaterThan(0);
  });
});

describe('clearSkyPanelW', () => {
  const noonMs = Date.UTC(2026, 5, 21, 12);

  it('never passes the nameplate by much, and is nothing when the sun is down', () => {
    expect(clearSkyPanelW({ position, panel, atMs: noonMs })).toBeLessThan(panel.ratedW);
    expect(clearSkyPanelW({ position, panel, atMs: noonMs + 12 * HOUR_MS })).toBe(0);
  });

  // Common practice, no source: a panel facing the equator and steeper than the latitude wins in winter.
  it('favours a steep panel facing the equator in winter', () => {
    const wh = (over: Partial<typeof panel>): number =>
      sum(
        referenceHourlyWh({
          position,
          panel: { ...panel, ...over },
          startMs: winterMs,
          hours: 24,
        }),
      );
    expect(wh({})).toBeGreaterThan(2 * wh({ tiltDeg: 0 }));
    expect(wh({})).toBeGreaterThan(5 * wh({ azimuthDeg: 0 }));
  });

  it('falls with haze and with heat', () => {
    const at = (over: object): number => clearSkyPanelW({ position, panel, atMs: noonMs, ...over });
    expect(at({ linkeTurbidity: 6 })).toBeLessThan(at({ linkeTurbidity: 2 }));
    expect(at({ airC: 35 })).toBeLessThan(at({ airC: 5 }));
  });

  it('falls steadily under cloud, to nothing', () => {
    const under = [1, 0.8, 0.6, 0.4, 0.2, 0].map((clearSkyIndex) =>
      clearSkyPanelW({ position, panel, atMs: noonMs, clearSkyIndex }),
    );
    expect(under.every((powerW, index) => index === 0 || powerW < under[index - 1]!)).toBe(true);
    expect(under.at(-1)).toBe(0);
  });

  it('refuses a panel that leans past upright and a place that is none', () => {
    expect(() =>
      clearSkyPanelW({ position, panel: { ...panel, tiltDeg: 91 }, atMs: noonMs }),
    ).toThrow(EnergyInputError);
    expect(() => clearSkyPanelW({ position, panel, atMs: NaN })).toThrow(/atMs is NaN/);
  });
});
