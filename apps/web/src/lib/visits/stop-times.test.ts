import { describe, expect, it } from 'vitest';
import { stopTimes } from './stop-times.ts';

const MINUTE = 60_000;
const start = Date.parse('2026-11-28T08:30:00Z');
const travel = { speedKmh: 35, hoursAtSite: 0.75 };
const minutes = (times: readonly number[]) => times.map((atMs) => (atMs - start) / MINUTE);

// By hand: 35 km/h and 45 min at each; 7 km take 12 min, 14 km take 24 min. Told to five minutes.
describe('when to set out for each stop of a round', () => {
  const siteIds = ['a', 'b', 'c'];

  it('is way and work later for each, from the first site on', () => {
    const times = stopTimes(start, { siteIds, legsKm: [7, 14] }, { ...travel, fromHome: false });
    expect(minutes(times)).toEqual([0, 45, 100]);
  });

  it('reckons with the way from home where there is one', () => {
    const times = stopTimes(
      start,
      { siteIds, legsKm: [14, 7, 7, 14] },
      { ...travel, fromHome: true },
    );
    expect(minutes(times)).toEqual([0, 70, 125]);
  });

  it('is the start for a round of one', () => {
    const one = { siteIds: ['a'], legsKm: [] };
    expect(stopTimes(start, one, { ...travel, fromHome: false })).toEqual([start]);
  });
});
