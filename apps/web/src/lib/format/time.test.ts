import { describe, expect, it } from 'vitest';
import { ageText, offsetText, sayMoment, startOfDayMs } from './time.ts';

const at = (text: string): number => Date.parse(text);

// Offsets and the dates on which clocks change: IANA time zone database.
describe('time at the site', () => {
  it('names the offset of the zone at that instant', () => {
    expect(offsetText(at('2026-11-25T12:00Z'), 'Europe/London')).toBe('UTC');
    expect(offsetText(at('2026-07-25T12:00Z'), 'Europe/London')).toBe('UTC+1');
    expect(offsetText(at('2026-11-25T12:00Z'), 'America/St_Johns')).toBe('UTC−3:30');
    expect(sayMoment(at('2026-07-25T12:02Z'), 'Europe/London')).toBe('Sat 25 Jul 13:02 UTC+1');
  });

  it('finds midnight on ordinary days and on the days the clocks change', () => {
    const midnight = (text: string, zone = 'Europe/London') =>
      new Date(startOfDayMs(at(text), zone)).toISOString();
    expect(midnight('2026-11-25T07:02Z')).toBe('2026-11-25T00:00:00.000Z');
    expect(midnight('2026-07-25T07:02Z')).toBe('2026-07-24T23:00:00.000Z');
    expect(midnight('2026-10-25T20:00Z')).toBe('2026-10-24T23:00:00.000Z');
    expect(midnight('2026-03-29T20:00Z')).toBe('2026-03-29T00:00:00.000Z');
    expect(midnight('2026-11-25T12:00Z', 'Pacific/Auckland')).toBe('2026-11-25T11:00:00.000Z');
  });

  it('gives an age in the coarsest unit that still says something', () => {
    expect(ageText(12_000)).toBe('12 s');
    expect(ageText(61_000)).toBe('1 min');
    expect(ageText(89 * 60_000)).toBe('89 min');
    expect(ageText(30 * 3_600_000)).toBe('30 h');
    expect(ageText(50 * 3_600_000)).toBe('2 days');
    expect(ageText(-5)).toBe('now');
  });
});
