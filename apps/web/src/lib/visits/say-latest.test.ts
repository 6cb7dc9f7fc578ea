import { describe, expect, it } from 'vitest';
import { latestMsOf, sayLatest } from './say-latest.ts';

const at = (iso: string): number => Date.parse(iso);
const latest = at('2026-11-28T12:00:00Z');

describe('the latest safe date in words', () => {
  it('is a moment with its zone, however near, until it is now', () => {
    const said = (now: string) => sayLatest(latest, 'Europe/London', at(now));
    expect(said('2026-11-27T09:00:00Z')).toBe('Sat 28 Nov 12:00 UTC');
    expect(said('2026-11-28T10:00:00Z')).toBe('Sat 28 Nov 12:00 UTC');
    expect(said('2026-11-28T11:59:00Z')).toBe('now');
    expect(said('2026-11-28T12:30:00Z')).toBe('now');
  });

  it('is none where nobody has to go, whatever date stands there', () => {
    const need = (kind: 'by' | 'no-need') => ({ kind, at: '2026-11-28T12:00:00Z', because: [] });
    expect(latestMsOf(need('by'))).toBe(latest);
    expect(latestMsOf(need('no-need'))).toBeUndefined();
    expect(latestMsOf({ kind: 'cannot-tell', at: null, because: [] })).toBeUndefined();
  });
});
