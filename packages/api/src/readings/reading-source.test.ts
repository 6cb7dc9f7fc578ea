import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { binReadings } from './bin-readings.ts';
import { readingSource, stepMsFor } from './reading-source.ts';

const MINUTE = 60_000;
const HOUR = 60 * MINUTE;
const DAY = 24 * HOUR;
const range = (spanMs: number, points = 800) => ({
  fromMs: 1_764_000_000_000,
  toMs: 1_764_000_000_000 + spanMs,
  points,
});

describe('what a chart is made of', () => {
  it('is single readings for a day, also of a node that reads every 30 s', () => {
    expect(readingSource(range(DAY), 30)).toBe('raw');
    expect(readingSource(range(60 * DAY), 300)).toBe('raw');
  });

  it('is hours for a month and for a year, days for many years', () => {
    expect(readingSource(range(30 * DAY), 30)).toBe('hour');
    expect(readingSource(range(365 * DAY), 30)).toBe('hour');
    expect(readingSource(range(3 * 365 * DAY), 30)).toBe('day');
  });

  it('is as many hours a point as make few points of a month', () => {
    // 30 days ÷ 99 points = 7.3 h: the next longer of the list is 12 h.
    expect(readingSource(range(30 * DAY, 100), 30)).toBe('hour');
    expect(stepMsFor(range(30 * DAY, 100), HOUR)).toBe(12 * HOUR);
  });
});

describe('the length of a step', () => {
  it('is one that people divide time by', () => {
    // 24 h ÷ 800 points = 108 s, so the next longer of the list: 2 min, which makes 720.
    expect(stepMsFor(range(DAY), 0)).toBe(2 * MINUTE);
    expect(stepMsFor(range(30 * DAY), HOUR)).toBe(HOUR);
    expect(stepMsFor(range(365 * DAY), DAY)).toBe(DAY);
    // 20 years ÷ 799 points = 9.14 days: ten whole days.
    expect(stepMsFor(range(7300 * DAY), DAY)).toBe(10 * DAY);
  });

  it('never makes more points than were asked for, wherever the range begins', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 7300 * DAY }),
        fc.integer({ min: 2, max: 2000 }),
        fc.integer({ min: 0, max: 2 ** 41 }),
        (spanMs, points, fromMs) => {
          const asked = { fromMs, toMs: fromMs + spanMs, points };
          const stepMs = stepMsFor(asked, 0);
          // Readings as dense as can matter: one at each end of every step, and at the ends of the range.
          const first = Math.floor(fromMs / stepMs);
          const last = Math.floor((fromMs + spanMs - 1) / stepMs);
          const readings = Array.from({ length: Math.min(last - first + 1, 3000) }, (_, i) => ({
            atMs: Math.max(fromMs, (first + i) * stepMs),
            value: i,
          }));
          expect(binReadings(readings, stepMs, 'mean').length).toBeLessThanOrEqual(points);
        },
      ),
      { seed: 20261125, numRuns: 300 },
    );
  });
});
