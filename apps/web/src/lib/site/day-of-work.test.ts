import { describe, expect, it } from 'vitest';
import { dayOfWork } from './day-of-work.ts';

const now = Date.UTC(2026, 10, 26, 9, 30);

describe('the day that somebody writes on a box', () => {
  it('is taken for its noon', () => {
    expect(dayOfWork('2026-11-20', { nowMs: now })).toBe('2026-11-20T12:00:00.000Z');
  });

  it('is never in the future: what was done today was done before now', () => {
    expect(dayOfWork('2026-11-26', { nowMs: now })).toBe('2026-11-26T09:30:00.000Z');
  });

  it('is never before what it follows on the same day', () => {
    const afterMs = Date.UTC(2026, 10, 20, 15);
    expect(dayOfWork('2026-11-20', { nowMs: now, afterMs })).toBe('2026-11-20T15:00:00.000Z');
  });
});
