import { DAY_MS, HOUR_MS } from '@duskline/domain';
import { describe, expect, it } from 'vitest';
import { daylightFrom, lastDaylightBefore } from './daylight.ts';

const london = { latitudeDeg: 51.5, longitudeDeg: -0.13, elevationM: 20 };
const arctic = { latitudeDeg: 69.65, longitudeDeg: 18.96, elevationM: 10 };
const noonMs = Date.UTC(2026, 11, 21, 12);

describe('daylight', () => {
  // HM Nautical Almanac Office, shortest day in London: sunrise 08:04, sunset 15:53 (from memory).
  it('of the shortest day in London is the published one', () => {
    const [day] = daylightFrom(london, noonMs, 1);
    expect(Math.abs((day?.fromMs ?? 0) - Date.UTC(2026, 11, 21, 8, 4))).toBeLessThan(2 * 60_000);
    expect(Math.abs((day?.untilMs ?? 0) - Date.UTC(2026, 11, 21, 15, 53))).toBeLessThan(2 * 60_000);
  });

  // Tromsø has polar night from late November to mid-January.
  it('is none in the polar night', () => {
    expect(daylightFrom(arctic, noonMs, 3)).toEqual([]);
    expect(lastDaylightBefore(arctic, noonMs, noonMs + 3 * DAY_MS)).toBeUndefined();
  });

  it('before a date is the last of which something is left', () => {
    const byMs = noonMs + 2 * DAY_MS - 6 * HOUR_MS;
    const last = lastDaylightBefore(london, noonMs, byMs);
    // 23 December 06:00 is before sunrise: the day before is the last.
    expect(new Date(last?.fromMs ?? 0).getUTCDate()).toBe(22);
    const now = lastDaylightBefore(london, noonMs, noonMs + HOUR_MS);
    expect(now).toEqual({ fromMs: noonMs, untilMs: noonMs + HOUR_MS });
    const evening = Date.UTC(2026, 11, 21, 18);
    expect(lastDaylightBefore(london, evening, evening + HOUR_MS)).toBeUndefined();
  });
});
