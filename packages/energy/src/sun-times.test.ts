import { DAY_MS, HOUR_MS } from '@duskline/domain';
import { describe, expect, it } from 'vitest';
import { EnergyInputError } from './errors.ts';
import { nightsBetween } from './nights-between.ts';
import { solarDayStartMs } from './solar-day.ts';
import { sunTimes } from './sun-times.ts';

const midwinterMs = Date.UTC(2026, 11, 21);
const midsummerMs = Date.UTC(2026, 5, 21);

describe('sunTimes', () => {
  it('calls the arctic winter polar night and the arctic summer polar day', () => {
    expect(sunTimes(midwinterMs, 78, 15).kind).toBe('polar-night');
    expect(sunTimes(midsummerMs, 78, 15).kind).toBe('polar-day');
  });

  it('turns the year round in the south', () => {
    expect(sunTimes(midwinterMs, -78, 15).kind).toBe('polar-day');
    expect(sunTimes(midsummerMs, -78, 15).kind).toBe('polar-night');
  });

  it('keeps rise before noon before set at every longitude', () => {
    for (const longitudeDeg of [-180, -179, -90, 0, 90, 179, 180]) {
      const times = sunTimes(midsummerMs, 54, longitudeDeg);
      expect(times.kind).toBe('normal');
      if (times.kind !== 'normal') continue;
      expect(times.riseMs).toBeLessThan(times.transitMs);
      expect(times.transitMs).toBeLessThan(times.setMs);
    }
  });

  it('gives the same answer for every instant of a UTC day', () => {
    expect(sunTimes(midsummerMs + DAY_MS - 1, 54, -2)).toEqual(sunTimes(midsummerMs, 54, -2));
  });

  it('passes from day to night through the whole year at 70 N without a day lost', () => {
    const kinds = Array.from(
      { length: 365 },
      (_, day) => sunTimes(Date.UTC(2026, 0, 1) + day * DAY_MS, 70, 25).kind,
    );
    const runs = kinds.filter((kind, day) => day === 0 || kind !== kinds[day - 1]);
    expect(runs).toEqual(['polar-night', 'normal', 'polar-day', 'normal', 'polar-night']);
  });

  it('refuses a place that is not on the globe', () => {
    expect(() => sunTimes(midsummerMs, 91, 0)).toThrow(EnergyInputError);
    expect(() => sunTimes(midsummerMs, 54, NaN)).toThrow(EnergyInputError);
  });
});

describe('nightsBetween', () => {
  it('is one night through a polar night and none through a polar day', () => {
    const spanMs = 10 * DAY_MS;
    expect(nightsBetween(midwinterMs, midwinterMs + spanMs, 78, 15)).toEqual([
      [midwinterMs, midwinterMs + spanMs],
    ]);
    expect(nightsBetween(midsummerMs, midsummerMs + spanMs, 78, 15)).toEqual([]);
  });

  it('clips the nights at both ends of the span', () => {
    const midnightMs = Date.UTC(2026, 2, 20);
    const nights = nightsBetween(midnightMs, midnightMs + DAY_MS, 54, 0);
    expect(nights).toHaveLength(2);
    expect(nights[0]![0]).toBe(midnightMs);
    expect(nights[1]![1]).toBe(midnightMs + DAY_MS);
  });

  it('holds about half of every day at the equinox', () => {
    const startMs = Date.UTC(2026, 2, 20, 12);
    const nights = nightsBetween(startMs, startMs + 4 * DAY_MS, 54, 0);
    const darkMs = nights.reduce((sum, [fromMs, toMs]) => sum + toMs - fromMs, 0);
    expect(nights).toHaveLength(4);
    // Refraction and the sun's radius lengthen the day by some 11 minutes at this latitude.
    expect(darkMs / (4 * DAY_MS)).toBeGreaterThan(0.48);
    expect(darkMs / (4 * DAY_MS)).toBeLessThan(0.5);
  });

  it('takes up and ends the polar night without a gap', () => {
    const fromMs = Date.UTC(2026, 10, 1);
    const nights = nightsBetween(fromMs, fromMs + 120 * DAY_MS, 70, 25);
    for (let index = 1; index < nights.length; index += 1) {
      expect(nights[index]![0]).toBeGreaterThan(nights[index - 1]![1]);
    }
    expect(Math.max(...nights.map(([a, b]) => b - a))).toBeGreaterThan(40 * DAY_MS);
  });

  it('is empty for an empty span and refuses one that runs backwards', () => {
    const noonMs = Date.UTC(2026, 5, 21, 12);
    expect(nightsBetween(noonMs, noonMs, 54, 0)).toEqual([]);
    expect(() => nightsBetween(noonMs, noonMs - 1, 54, 0)).toThrow(EnergyInputError);
  });
});

describe('solarDayStartMs', () => {
  it('is UTC midnight at Greenwich and moves four minutes per degree', () => {
    const atMs = Date.UTC(2026, 5, 21, 15);
    expect(solarDayStartMs(atMs, 0)).toBe(midsummerMs);
    expect(solarDayStartMs(atMs, 15)).toBe(midsummerMs - HOUR_MS);
    expect(solarDayStartMs(atMs, -15)).toBe(midsummerMs + HOUR_MS);
  });

  it('starts a day at its own start', () => {
    const startMs = solarDayStartMs(Date.UTC(2026, 5, 21, 15), -2.2);
    expect(solarDayStartMs(startMs, -2.2)).toBe(startMs);
    expect(solarDayStartMs(startMs - 1, -2.2)).toBe(startMs - DAY_MS);
  });
});
