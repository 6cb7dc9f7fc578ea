import { describe, expect, it } from 'vitest';
import { dayName, daysAway, daySpan } from './day-span.ts';

// Expected weekdays: the civil calendar of November and December 2026 (25 November 2026 is a Wednesday).
const reader = { timeZone: 'Europe/London', nowMs: Date.parse('2026-11-25T07:02:00Z') };
const at = (text: string): number => Date.parse(text);

describe('days in words', () => {
  it('names today, tomorrow, the days of the coming week and dates beyond it', () => {
    expect(dayName(at('2026-11-25T23:00:00Z'), reader)).toBe('today');
    expect(dayName(at('2026-11-26T00:30:00Z'), reader)).toBe('tomorrow');
    expect(dayName(at('2026-11-28T12:00:00Z'), reader)).toBe('Sat');
    expect(dayName(at('2026-12-01T12:00:00Z'), reader)).toBe('Tue');
    expect(dayName(at('2026-12-02T12:00:00Z'), reader)).toBe('2 Dec');
    expect(dayName(at('2026-11-24T12:00:00Z'), reader)).toBe('yesterday');
    expect(dayName(at('2026-11-20T12:00:00Z'), reader)).toBe('20 Nov');
  });

  it("counts days by the calendar of the site's zone, not by UTC", () => {
    const auckland = { timeZone: 'Pacific/Auckland', nowMs: at('2026-11-25T12:00:00Z') };
    // 12:00Z is already 01:00 on the 26th in Auckland (UTC+13 in summer: IANA tz database).
    expect(daysAway(at('2026-11-26T10:59:00Z'), auckland)).toBe(0);
    expect(daysAway(at('2026-11-26T11:00:00Z'), auckland)).toBe(1);
  });

  it('joins two days the way people do', () => {
    const span = (fromMs: string, toMs: string) => ({ fromMs: at(fromMs), toMs: at(toMs) });
    expect(daySpan(span('2026-11-26T08:00Z', '2026-11-28T20:00Z'), reader)).toBe('Thu–Sat');
    expect(daySpan(span('2026-11-27T08:00Z', '2026-11-29T20:00Z'), reader)).toBe('Fri–Sun');
    expect(daySpan(span('2026-11-27T08:00Z', '2026-11-27T20:00Z'), reader)).toBe('Fri');
    expect(daySpan(span('2026-11-25T08:00Z', '2026-11-26T20:00Z'), reader)).toBe(
      'today or tomorrow',
    );
    expect(daySpan(span('2026-12-09T08:00Z', '2026-12-14T20:00Z'), reader)).toBe('9–14 Dec');
    expect(daySpan(span('2026-12-29T08:00Z', '2027-01-03T20:00Z'), reader)).toBe('29 Dec–3 Jan');
    expect(daySpan(span('2026-11-25T08:00Z', '2026-11-28T20:00Z'), reader)).toBe('today–Sat');
    expect(daySpan(span('2026-11-29T08:00Z', '2026-12-02T20:00Z'), reader)).toBe('29 Nov–2 Dec');
    expect(daySpan(span('2026-11-22T08:00Z', '2026-11-24T20:00Z'), reader)).toBe('22–24 Nov');
    expect(daySpan({ fromMs: at('2026-11-27T08:00Z') }, reader)).toBe('Fri at the earliest');
  });
});
