import { DAY_MS } from '@duskline/domain';
import { describe, expect, it } from 'vitest';
import { dayOfYear } from './extraterrestrial-normal.ts';

describe('dayOfYear', () => {
  it('agrees with the calendar of the language on every day of 1900 to 2100', () => {
    let days = 0;
    for (let year = 1900; year <= 2100; year += 1) {
      const firstMs = Date.UTC(year, 0, 1);
      const nextMs = Date.UTC(year + 1, 0, 1);
      for (let atMs = firstMs; atMs < nextMs; atMs += DAY_MS) {
        if (dayOfYear(atMs) !== (atMs - firstMs) / DAY_MS + 1)
          expect.fail(new Date(atMs).toISOString());
        days += 1;
      }
    }
    expect(days).toBe(73_414); // 201 · 365 + 49 leap years: 1900 and 2100 are none
  });

  it('changes at midnight, and not before', () => {
    expect(dayOfYear(Date.UTC(2028, 1, 29, 23, 59, 59, 999))).toBe(60);
    expect(dayOfYear(Date.UTC(2028, 2, 1))).toBe(61);
    expect(dayOfYear(Date.UTC(2028, 11, 31, 23, 59))).toBe(366);
    expect(dayOfYear(-1)).toBe(365); // a millisecond before 1970
  });
});
