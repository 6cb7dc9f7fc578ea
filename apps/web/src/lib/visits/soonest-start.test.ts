import { describe, expect, it } from 'vitest';
import { needFixture } from './fixtures.ts';
import { soonestStart } from './soonest-start.ts';

const HOUR = 3_600_000;
const MINUTE = 60_000;
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
  soonestStart([stop(by)], tripHours * HOUR, Date.parse(now));
const at = (iso: string): number => Date.parse(iso);

// Expected: reckoned by hand from the daylight above; back half an hour before dark is at 15:21.
describe('the soonest sensible moment to set out', () => {
  it('is today while the whole trip is over half an hour before dark', () => {
    const fits = { kind: 'in-light', atMs: at('2026-11-27T09:35:00Z') };
    expect(start('2026-11-27T09:02:00Z', 3)).toEqual(fits);
    expect(start('2026-11-27T09:02:00Z', 5.75)).toEqual(fits);
    expect(start('2026-11-27T09:02:00Z', 5.8).kind).toBe('not-today');
  });

  it('is first light when it is still dark', () => {
    expect(start('2026-11-27T05:00:00Z', 3)).toEqual({
      kind: 'in-light',
      atMs: at('2026-11-27T08:10:00Z'),
    });
  });

  it('is the next first light when too little of today is left, and says how much', () => {
    expect(start('2026-11-27T13:00:00Z', 3)).toEqual({
      kind: 'not-today',
      atMs: at('2026-11-28T08:10:00Z'),
      lightMs: 111 * MINUTE,
    });
    // After dark the next day is simply the next.
    expect(start('2026-11-27T17:00:00Z', 1)).toEqual({
      kind: 'in-light',
      atMs: at('2026-11-28T08:10:00Z'),
    });
  });

  it('is today when tomorrow would miss the latest safe date and the first stop is still light', () => {
    expect(start('2026-11-27T13:00:00Z', 3, '2026-11-27T16:53:00Z')).toEqual({
      kind: 'into-dark',
      atMs: at('2026-11-27T13:30:00Z'),
      lightMs: 111 * MINUTE,
    });
    for (const one of [
      start('2026-11-27T14:00:00Z', 3, '2026-11-27T16:53:00Z'),
      start('2026-11-27T13:00:00Z', 3, '2026-11-28T12:00:00Z'),
    ])
      expect(one).toMatchObject({ kind: 'not-today', atMs: at('2026-11-28T08:10:00Z') });
  });

  it('says so when no day is long enough', () => {
    expect(start('2026-11-27T05:00:00Z', 8)).toEqual({
      kind: 'too-long',
      atMs: at('2026-11-27T08:10:00Z'),
      lightMs: (7 * 60 + 11) * MINUTE,
    });
    expect(start('2026-11-27T13:00:00Z', 8)).toMatchObject({
      kind: 'too-long',
      atMs: at('2026-11-28T08:10:00Z'),
    });
  });

  it('is half an hour from now where the sun does not rise', () => {
    const dark = needFixture({ daylight: [] });
    expect(soonestStart([dark], HOUR, at('2026-12-21T10:00:00Z'))).toEqual({
      kind: 'no-light',
      atMs: at('2026-12-21T10:30:00Z'),
    });
  });
});
