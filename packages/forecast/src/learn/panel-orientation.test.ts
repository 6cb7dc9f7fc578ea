import { HOUR_MS } from '@duskline/domain';
import {
  clearSky,
  extraterrestrialNormalWm2,
  planeOfArray,
  splitErbs,
  sunPosition,
} from '@duskline/energy';
import { describe, expect, it } from 'vitest';
import { madeUpHistory, moorPower } from '../testing.ts';
import { advanceLearnt } from './advance-learnt.ts';

const HOURS = 60 * 24;
const startMs = Date.UTC(2026, 5, 10);
const position = { latitudeDeg: 33, longitudeDeg: 0, elevationM: 300 };
const panel = { ratedW: 20, tiltDeg: 48, azimuthDeg: 180 };
const power = { ...moorPower, panel };

/**
 * Sixty summer days of thin, even haze: the level light is a share of a cloudless sky's, and Erbs et al. 1982 say how much of it comes
 * from the whole sky, which is far more than on a clear day. The panel faces as entered.
 */
function hazySummer(shareOf: (day: number) => number) {
  const panelW = Array.from({ length: HOURS }, (_, hour) => {
    const atMs = startMs + (hour + 0.5) * HOUR_MS;
    const sun = sunPosition(atMs, position.latitudeDeg, position.longitudeDeg);
    if (sun.zenithDeg > 88) return 0;
    const extraterrestrialWm2 = extraterrestrialNormalWm2(atMs);
    const sky = clearSky({
      apparentZenithDeg: sun.zenithDeg,
      elevationM: position.elevationM,
      linkeTurbidity: 3,
      extraterrestrialWm2,
    });
    const ghiWm2 = sky.ghiWm2 * shareOf(Math.floor(hour / 24));
    const split = splitErbs({ ghiWm2, zenithDeg: sun.zenithDeg, extraterrestrialWm2 });
    const light = { sun, surface: panel, ghiWm2, ...split, extraterrestrialWm2, albedo: 0.2 };
    return (0.8 * panel.ratedW * planeOfArray(light).totalWm2) / 1000;
  });
  return madeUpHistory(startMs, HOURS, {
    panelW: (hour) => panelW[hour]!,
    loadW: () => 4,
    chargeRatio: () => 0.5,
    batteryC: () => 25,
  });
}

describe('where the panel faces', () => {
  it.each([
    ['steady haze', () => 0.85],
    ['haze that thickens and thins', (day: number) => 0.7 + ((day * 7) % 10) / 40],
    ['a monsoon, evenly grey', (day: number) => 0.4 + ((day * 7) % 10) / 50],
  ])('is as entered in %s, which flattens the day’s curve as a flatter panel would', (_, share) => {
    const { panel: learnt } = advanceLearnt(undefined, {
      history: hazySummer(share),
      position,
      power,
      nowMs: startMs + HOURS * HOUR_MS,
    });
    const tiltDeg = learnt.orientation?.tiltDeg.value ?? panel.tiltDeg;
    expect(Math.abs(tiltDeg - panel.tiltDeg)).toBeLessThan(15);
  });
});
