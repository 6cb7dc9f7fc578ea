import { describe, expect, it } from 'vitest';
import { fixtureNow, outlookFixture, rowFixture } from './fixtures.ts';
import { stripGeometry } from './strip-geometry.ts';

const nowMs = Date.parse(fixtureNow);
// 21 days on 1000 units: a day is 47.62 units, now stands at 333.3.
const axis = {
  fromMs: Date.parse('2026-11-18T07:02:00Z'),
  toMs: Date.parse('2026-12-09T07:02:00Z'),
};
const DAY = 1000 / 21;
const empties = (p10Days: number, p90Days: number | null) =>
  outlookFixture({ kind: 'empties-in', p10Days, p50Days: p10Days, p90Days });

describe('the strip of a row', () => {
  it('puts now a third of the way along and breaks the past where nothing was heard', () => {
    const strip = stripGeometry(rowFixture(), axis, nowMs);
    expect(strip.nowX).toBeCloseTo(1000 / 3, 6);
    expect(strip.pastLine.match(/M/g)).toHaveLength(2);
    expect(strip.stops).toBeUndefined();
  });

  it('lays the red bar over the days in which the node would stop', () => {
    const strip = stripGeometry(rowFixture({ outlook: empties(2, 5) }), axis, nowMs);
    expect(strip.stops?.x).toBeCloseTo(1000 / 3 + 2 * DAY, 6);
    expect(strip.stops?.width).toBeCloseTo(3 * DAY, 6);
    expect(strip.stops?.openEnded).toBe(false);
  });

  it('leaves the bar open when its end is unknown or off the axis, and draws none that begins off it', () => {
    const bar = (p10: number, p90: number | null) =>
      stripGeometry(rowFixture({ outlook: empties(p10, p90) }), axis, nowMs).stops;
    expect(bar(2, null)?.openEnded).toBe(true);
    expect(bar(2, 20)?.openEnded).toBe(true);
    expect((bar(2, 20)?.x ?? 0) + (bar(2, 20)?.width ?? 0)).toBe(1000);
    expect(bar(15, 20)).toBeUndefined();
  });

  it('frames an absence up to the expected return, and marks a window that is past', () => {
    const back = (p10At: string, p90At: string | null) =>
      outlookFixture({
        kind: 'empties-in',
        p10Days: 0,
        back: { kind: 'expected-back', p10At, p50At: null, p90At },
      });
    const dark = rowFixture({
      state: 'dark-as-designed',
      lastHeardAt: '2026-11-23T07:02:00Z',
      outlook: back('2026-11-27T07:02:00Z', '2026-11-29T07:02:00Z'),
    });
    const strip = stripGeometry(dark, axis, nowMs);
    expect(strip.absence?.x).toBeCloseTo(1000 / 3 - 2 * DAY, 6);
    expect(strip.absence?.width).toBeCloseTo(4 * DAY, 6);
    expect(strip.back?.width).toBeCloseTo(2 * DAY, 6);
    expect(strip.back?.past).toBe(false);
    expect(strip.stops).toBeUndefined();
    const late = rowFixture({
      state: 'overdue',
      lastHeardAt: '2026-11-20T07:02:00Z',
      outlook: back('2026-11-22T07:02:00Z', '2026-11-24T12:00:00Z'),
    });
    expect(stripGeometry(late, axis, nowMs).back?.past).toBe(true);
  });

  it('cuts nights at the ends of the axis', () => {
    const row = { ...rowFixture(), nights: [['2026-11-17T16:00:00Z', '2026-11-18T08:02:00Z']] };
    const strip = stripGeometry(row as Parameters<typeof stripGeometry>[0], axis, nowMs);
    // One hour of 21 days on 1000 units is 1.98.
    expect(strip.pastNights).toBe('M0.0 0h2.0V100h-2.0z');
    expect(strip.nightsAhead).toBe('');
  });
});
