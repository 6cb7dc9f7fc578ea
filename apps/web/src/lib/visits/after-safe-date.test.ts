import { describe, expect, it } from 'vitest';
import { afterSafeDate } from './after-safe-date.ts';

const need = { kind: 'by' as const, at: '2026-11-28T12:00:00Z', because: [] };
const at = (iso: string): number => Date.parse(iso);
const now = { timeZone: 'Europe/London', nowMs: at('2026-11-27T09:00:00Z') };

describe('a visit and the latest safe date of its site', () => {
  it('says so when it comes too late', () => {
    expect(afterSafeDate(at('2026-11-29T09:00:00Z'), need, now)).toBe(
      'after the latest safe date, Sat 28 Nov 12:00 UTC',
    );
    const later = { ...now, nowMs: at('2026-11-28T12:00:00Z') };
    expect(afterSafeDate(at('2026-11-29T09:00:00Z'), need, later)).toBe(
      'after the latest safe date, which is now',
    );
  });

  it('says nothing when it is in time, or when nothing is known of a date', () => {
    expect(afterSafeDate(at('2026-11-28T12:00:00Z'), need, now)).toBe('');
    const calm = { kind: 'no-need' as const, at: '2026-11-28T12:00:00Z', because: [] };
    expect(afterSafeDate(at('2026-11-29T09:00:00Z'), calm, now)).toBe('');
  });
});
