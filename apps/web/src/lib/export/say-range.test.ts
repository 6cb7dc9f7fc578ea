import { describe, expect, it } from 'vitest';
import { lastWeek, sayRange } from './say-range.ts';

const nowMs = Date.parse('2026-11-27T03:40:00Z');

describe('the days of an export', () => {
  it('are seven to begin with, today with them', () => {
    const { from, to } = lastWeek(nowMs);
    expect([from, to]).toEqual(['2026-11-21', '2026-11-28']);
    expect(sayRange(from, to, nowMs)).toBe(
      '7 days, 21 Nov 2026 to 27 Nov 2026, each from 00:00 to 24:00 UTC; the last is today, as far as it has come.',
    );
  });

  it('are counted as they are chosen', () => {
    expect(sayRange('2026-11-01', '2026-11-02', nowMs)).toBe(
      '1 day, 1 Nov 2026, each from 00:00 to 24:00 UTC.',
    );
    expect(sayRange('2026-11-02', '2026-11-02', nowMs)).toBe(
      '“Until before” must lie after “From”.',
    );
    expect(sayRange('', '2026-11-02', nowMs)).toBe('');
  });
});
