import { expect, it } from 'vitest';
import { nextBootNumber } from './boot-number.ts';

const nowMs = Date.UTC(2026, 10, 25);
const LARGEST = 2 ** 31 - 1;

it('a new card, and one written from an old copy, do not use numbers again that the server has seen', () => {
  const before = nextBootNumber(undefined, nowMs, 0);
  expect(nextBootNumber(undefined, nowMs + 60_000, 0)).toBeGreaterThan(before);
  expect(nextBootNumber(12, nowMs + 60_000, 0)).toBeGreaterThan(before);
});

it('counts on when the clock was never set, or set back, or twice in a second', () => {
  expect(nextBootNumber(217_000_000, 0, 0.5)).toBe(217_000_001);
  const first = nextBootNumber(undefined, nowMs, 0);
  expect(nextBootNumber(first, nowMs, 0)).toBe(first + 1);
});

it('with neither memory nor clock takes one by chance', () => {
  expect(nextBootNumber(undefined, 0, 0.25)).not.toBe(nextBootNumber(undefined, 0, 0.75));
});

it('stays within what the wire takes, whatever the clock', () => {
  for (const year of [1970, 2026, 2090, 9000])
    for (const chance of [0, 0.999_999]) {
      const boot = nextBootNumber(undefined, Date.UTC(year, 0, 1), chance);
      expect(boot).toBeGreaterThanOrEqual(1);
      expect(boot).toBeLessThan(LARGEST);
    }
});
