import { DAY_MS } from '@duskline/domain';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { startMs } from '../testing.ts';
import { roundOf, suggestRounds, USUAL_TRAVEL, type RoundStop } from './suggest-rounds.ts';

const home = { latitudeDeg: 54.5, longitudeDeg: -2 };
const stop = (northDeg: number, days: number, savedDays?: number): RoundStop => ({
  latitudeDeg: 54.5 + northDeg,
  longitudeDeg: -2,
  byMs: startMs + days * DAY_MS,
  ...(savedDays === undefined ? {} : { savedDays }),
});

describe('suggested rounds', () => {
  it('put what lies on the way into the round of what cannot wait, and leave far things for another', () => {
    const urgent = stop(0.3, 1);
    const onTheWay = stop(0.15, 9);
    const far = stop(-2, 5);
    const rounds = suggestRounds([far, onTheWay, urgent], { ...USUAL_TRAVEL, home, mostHours: 5 });
    expect(rounds.map((round) => new Set(round.stops))).toEqual([
      new Set([urgent, onTheWay]),
      new Set([far]),
    ]);
    expect(rounds[0]?.byMs).toBe(urgent.byMs);
  });

  // A degree of latitude is 111.195 km on the sphere of the IUGG: there and back 0.6°, 66.7 km; at 35 km/h 1.906 h, and the work.
  it('say how worth the drive they are: days of data saved for each hour', () => {
    const round = roundOf([stop(0.3, 1, 6), stop(0.15, 9)], { ...USUAL_TRAVEL, home });
    expect(round.distanceKm).toBeCloseTo(0.6 * 111.195, 1);
    expect(round.hours).toBeCloseTo((0.6 * 111.195) / 35 + 1.5, 3);
    expect(round.savedPerHour).toBeCloseTo(6 / round.hours, 9);
    expect(round.legsKm).toHaveLength(3);
  });

  it('hold every site once, each round within its limits, the first as the most pressing', () => {
    const stops = fc.array(
      fc.record({
        latitudeDeg: fc.double({ min: 54, max: 55, noNaN: true }),
        longitudeDeg: fc.double({ min: -3, max: -1, noNaN: true }),
        byMs: fc.integer({ min: startMs, max: startMs + 30 * DAY_MS }),
      }),
      { maxLength: 25 },
    );
    fc.assert(
      fc.property(stops, fc.boolean(), (given, fromHome) => {
        const travel = { ...USUAL_TRAVEL, ...(fromHome ? { home } : {}) };
        const rounds = suggestRounds(given, travel);
        const held = rounds.flatMap((round) => round.stops);
        expect(new Set(held)).toEqual(new Set(given));
        expect(held).toHaveLength(given.length);
        for (const round of rounds) {
          expect(round.stops.length).toBeLessThanOrEqual(travel.mostStops);
          if (round.stops.length > 1) expect(round.hours).toBeLessThanOrEqual(travel.mostHours);
        }
        const dates = rounds.map(({ byMs }) => byMs);
        expect(dates).toEqual([...dates].sort((a, b) => a - b));
      }),
      { numRuns: 60 },
    );
  });
});
