import { describe, expect, it } from 'vitest';
import { needFixture } from './fixtures.ts';
import { soonestStart } from './soonest-start.ts';

const HOUR = 3_600_000;
const day = (date: string) => ({ from: `${date}T08:06:30Z`, until: `${date}T15:51:00Z` });
const stop = (by: string | null = null) =>
  needFixture({
    daylight: [day('2026-11-27'), day('2026-11-28')],
    need:
      by === null
        ? { kind: 'no-need', at: null, because: [] }
        : { kind: 'by', at: by, because: [] },
  });
const start = (now: string, tripHours: number, by?: string) =>
  new Date(soonestStart([stop(by)], tripHours * HOUR, Date.parse(now))).toISOString();

// Expected: reckoned by hand from the daylight above.
describe('the soonest sensible moment to set out', () => {
  it('is today while the whole trip fits before dark', () => {
    expect(start('2026-11-27T09:02:00Z', 3)).toBe('2026-11-27T09:35:00.000Z');
  });

  it('is first light when it is still dark', () => {
    expect(start('2026-11-27T05:00:00Z', 3)).toBe('2026-11-27T08:10:00.000Z');
  });

  it('is the next first light when too little of today is left', () => {
    expect(start('2026-11-27T13:00:00Z', 3)).toBe('2026-11-28T08:10:00.000Z');
    expect(start('2026-11-27T17:00:00Z', 1)).toBe('2026-11-28T08:10:00.000Z');
  });

  it('is today when tomorrow would miss the latest safe date and the first stop is still light', () => {
    expect(start('2026-11-27T13:00:00Z', 3, '2026-11-27T16:53:00Z')).toBe(
      '2026-11-27T13:30:00.000Z',
    );
    expect(start('2026-11-27T14:00:00Z', 3, '2026-11-27T16:53:00Z')).toBe(
      '2026-11-28T08:10:00.000Z',
    );
    expect(start('2026-11-27T13:00:00Z', 3, '2026-11-28T12:00:00Z')).toBe(
      '2026-11-28T08:10:00.000Z',
    );
  });

  it('is half an hour from now where the sun does not rise', () => {
    const dark = needFixture({ daylight: [] });
    expect(soonestStart([dark], HOUR, Date.parse('2026-12-21T10:00:00Z'))).toBe(
      Date.parse('2026-12-21T10:30:00Z'),
    );
  });
});
