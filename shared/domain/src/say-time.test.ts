import { describe, expect, it } from 'vitest';
import { sayDay, sayDuration, sayMoment, sayPercent, sayRoughly } from './say-time.ts';

const LONDON = 'Europe/London';

describe('times in words', () => {
  it('are said in the zone of the site, summer time included', () => {
    expect(sayMoment(Date.UTC(2026, 6, 1, 11, 30), LONDON)).toBe('Wed 1 Jul 12:30 UTC+1');
    expect(sayMoment(Date.UTC(2026, 10, 25, 7, 2), LONDON)).toBe('Wed 25 Nov 07:02 UTC');
    expect(sayMoment(Date.UTC(2026, 10, 25, 7, 2), 'America/St_Johns')).toBe(
      'Wed 25 Nov 03:32 UTC−3:30',
    );
  });

  it('are a day of that zone where no hour is meant', () => {
    expect(sayDay(Date.UTC(2026, 10, 30, 23, 30), LONDON)).toBe('Mon 30 Nov');
    expect(sayDay(Date.UTC(2026, 10, 30, 23, 30), 'Europe/Berlin')).toBe('Tue 1 Dec');
  });

  it('are rough: a part of a day near by, a date further off', () => {
    const now = Date.UTC(2026, 10, 25, 7);
    expect(sayRoughly(Date.UTC(2026, 10, 27, 9), now, LONDON)).toBe('Fri morning');
    expect(sayRoughly(Date.UTC(2026, 10, 28, 0, 30), now, LONDON)).toBe('the night to Sat');
    expect(sayRoughly(Date.UTC(2026, 11, 12, 9), now, LONDON)).toBe('12 Dec');
  });

  it('say how long in the unit a person would use', () => {
    expect(sayDuration(12 * 60_000)).toBe('12 min');
    expect(sayDuration(5 * 3_600_000)).toBe('5 h');
    expect(sayDuration(72 * 3_600_000)).toBe('3 days');
    expect(sayPercent(0.344)).toBe('34 %');
  });
});
