import { describe, expect, it } from 'vitest';
import { sayStart } from './say-start.ts';

const HOUR = 3_600_000;
const at = (iso: string): number => Date.parse(iso);
const about = { hours: 3, byMs: at('2026-11-28T12:00:00Z'), timeZone: 'Europe/London', stops: 2 };
// A figure and its unit are held together.
const plain = (text: string): string => text.replaceAll('\u00a0', ' ');

describe('when a round can be driven', () => {
  it('says the first start that is over before dark', () => {
    expect(plain(sayStart({ kind: 'in-light', atMs: at('2026-11-27T09:35:00Z') }, about))).toBe(
      'Set out Fri 27 Nov 09:35 UTC at the soonest: that ends half an hour before dark, or earlier.',
    );
  });

  it('says why not today, and when that comes after the latest safe date', () => {
    const tomorrow = at('2026-11-28T08:10:00Z');
    const start = { kind: 'not-today', atMs: tomorrow, lightMs: 1.85 * HOUR } as const;
    expect(plain(sayStart(start, about))).toBe(
      'Not today: 1 h 50 min of daylight are left there with half an hour in hand, and it takes about 3 h. Set out Sat 28 Nov 08:10 UTC at the soonest.',
    );
    expect(plain(sayStart({ ...start, lightMs: -1 }, about))).toMatch(
      /^Not today: no daylight is left there with half an hour in hand/,
    );
    expect(sayStart(start, { ...about, byMs: at('2026-11-27T16:00:00Z') })).toMatch(
      / That is after the latest safe date\.$/,
    );
  });

  it('says what ends in the dark, and what no day is long enough for', () => {
    const atMs = at('2026-11-27T13:30:00Z');
    expect(plain(sayStart({ kind: 'into-dark', atMs, lightMs: 2 * HOUR }, about))).toBe(
      'It does not fit: 2 h of daylight are left there with half an hour in hand, and it takes about 3 h; tomorrow is after the latest safe date. Go to the first stops today, Fri 27 Nov 13:30 UTC at the soonest, and leave the rest for tomorrow.',
    );
    const alone = { ...about, stops: 1 };
    expect(sayStart({ kind: 'into-dark', atMs, lightMs: 2 * HOUR }, alone)).toContain(
      'Whoever sets out today, Fri 27 Nov 13:30 UTC at the soonest, comes back in the dark.',
    );
    expect(plain(sayStart({ kind: 'too-long', atMs, lightMs: 7 * HOUR }, about))).toContain(
      'Longer than a day there: 7 h of daylight with half an hour in hand',
    );
  });
});
