import { DAY_MS, MINUTE_MS } from '@duskline/domain';
import { describe, expect, it } from 'vitest';
import { apparentElevationDeg } from './apparent-elevation.ts';
import { clearSky, DEFAULT_LINKE_TURBIDITY } from './clear-sky.ts';
import { dayUnderClouds } from './day-under-clouds.ts';
import { EnergyInputError } from './errors.ts';
import { extraterrestrialNormalWm2 } from './extraterrestrial-normal.ts';
import { pressurePa } from './pressure.ts';
import { referenceHourlyWh } from './reference-hourly.ts';
import { sunPosition } from './sun-position.ts';

const position = { latitudeDeg: 54.3, longitudeDeg: -2.2, elevationM: 300 };
const panel = { ratedW: 20, tiltDeg: 65, azimuthDeg: 180 };
const clearSkyIndices = [0, 0.3, 0.8, 1.2];
const seasons = [Date.UTC(2026, 11, 21), Date.UTC(2026, 2, 20), Date.UTC(2026, 5, 21)];

const sum = (values: Float64Array): number => values.reduce((total, value) => total + value, 0);

describe('dayUnderClouds', () => {
  it('gives the sums of the hourly chain, each index as if asked for alone', () => {
    for (const startMs of seasons) {
      const day = { position, panel, startMs };
      const { cloudlessWh, dimmedWh } = dayUnderClouds({ ...day, clearSkyIndices });
      expect(cloudlessWh).toBeCloseTo(sum(referenceHourlyWh({ ...day, hours: 24 })), 9);
      clearSkyIndices.forEach((clearSkyIndex, i) => {
        const alone = sum(referenceHourlyWh({ ...day, hours: 24, clearSkyIndex }));
        expect(dimmedWh[i]).toBeCloseTo(alone, 9);
      });
    }
  });

  it('comes within 0.3 % of one-minute midpoints on the level', () => {
    const { latitudeDeg, longitudeDeg, elevationM } = position;
    for (const startMs of seasons) {
      let fineWhM2 = 0;
      for (let atMs = startMs + MINUTE_MS / 2; atMs < startMs + DAY_MS; atMs += MINUTE_MS) {
        const { zenithDeg } = sunPosition(atMs, latitudeDeg, longitudeDeg);
        const { ghiWm2 } = clearSky({
          apparentZenithDeg: 90 - apparentElevationDeg(90 - zenithDeg, pressurePa(elevationM), 15),
          elevationM,
          linkeTurbidity: DEFAULT_LINKE_TURBIDITY,
          extraterrestrialWm2: extraterrestrialNormalWm2(atMs),
        });
        fineWhM2 += ghiWm2 / 60;
      }
      const { levelWhM2 } = dayUnderClouds({ position, panel, startMs, clearSkyIndices: [] });
      expect(Math.abs(levelWhM2 / fineWhM2 - 1)).toBeLessThan(0.003);
    }
  });

  it('is nothing through a polar night', () => {
    const north = { latitudeDeg: 78, longitudeDeg: 15, elevationM: 0 };
    const day = { position: north, panel, startMs: seasons[0]!, clearSkyIndices: [1] };
    expect(dayUnderClouds(day)).toEqual({
      levelWhM2: 0,
      cloudlessWh: 0,
      dimmedWh: new Float64Array(1),
    });
  });

  it('refuses an index that no sky has', () => {
    const day = { position, panel, startMs: seasons[0]! };
    expect(() => dayUnderClouds({ ...day, clearSkyIndices: [2.5] })).toThrow(EnergyInputError);
  });
});
