import { DAY_MS, MINUTE_MS } from '@duskline/domain';
import { nightsBetween, type SunTimes, sunTimes } from '@duskline/energy';
import { Body, Observer, SearchRiseSet } from 'astronomy-engine';
import { describe, expect, it } from 'vitest';
import { readCases } from './read-cases.ts';
import { expectAllWithin } from './worst-case.ts';

interface DayCase {
  readonly date: string;
  readonly latitudeDeg: number;
  readonly longitudeDeg: number;
  readonly kind: SunTimes['kind'];
  readonly rise: string | null;
  readonly transit: string;
  readonly set: string | null;
  readonly by: string;
}

const TRANSIT_TOLERANCE_MIN = 0.1; // 3 s of equation of time, 1 s of rounding
const LOW_LATITUDE_TOLERANCE_MIN = 0.2; // the reference rounds to 1 s; 0.015° of height is 6 s at 50°
const HIGH_LATITUDE_TOLERANCE_MIN = 1.5; // grazing the horizon, the reference's own interpolation is 1 min from the ephemeris below

const days = readCases<DayCase>('sun-times', 95);
const timesOf = (row: DayCase, shiftDays = 0): SunTimes =>
  sunTimes(Date.parse(row.date) + shiftDays * DAY_MS, row.latitudeDeg, row.longitudeDeg);

/**
 * The algorithm's rise and set are those of the UTC calendar day asked for: its fraction of a day is wrapped to 0 … 1
 * (Reda & Andreas 2004, appendix A.2). Tools print some of them under a neighbouring date, and a day's slip is a minute and more at the
 * equinox. So the clock time counts, on the day asked for. Ours belong to one noon: the nearest of three is compared.
 */
function nearestMin(row: DayCase, event: 'riseMs' | 'setMs', printed: string): number {
  const wantedMs = Date.parse(`${row.date}T${printed.slice(11)}`);
  const errors = [-1, 0, 1].flatMap((shift) => {
    const times = timesOf(row, shift);
    return times.kind === 'normal' ? [Math.abs(times[event] - wantedMs) / MINUTE_MS] : [];
  });
  return Math.min(...errors);
}

const worstOf = (row: DayCase): number =>
  Math.max(nearestMin(row, 'riseMs', row.rise!), nearestMin(row, 'setMs', row.set!));

// Source: NREL solar position algorithm run by pvlib-python, and its web calculator, see sun-times.json.
describe('sunrise and sunset against the solar position algorithm', () => {
  const normal = days.filter((row) => row.kind === 'normal');

  it('agrees on polar day, polar night and ordinary days', () => {
    const disagreeing = days.filter((row) => timesOf(row).kind !== row.kind);
    expect(disagreeing).toEqual([]);
    expect(days.filter((row) => row.kind !== 'normal')).toHaveLength(18);
  });

  it('agrees on solar noon', () => {
    expectAllWithin(
      days,
      (row) =>
        Math.min(
          ...[-1, 0, 1].map((shift) =>
            Math.abs(timesOf(row, shift).transitMs - Date.parse(row.transit)),
          ),
        ) / MINUTE_MS,
      { tolerance: TRANSIT_TOLERANCE_MIN, count: 95 },
    );
  });

  const high = (row: DayCase): boolean => Math.abs(row.latitudeDeg) >= 60;

  it('agrees within 12 seconds below 60° of latitude', () => {
    expectAllWithin(
      normal.filter((row) => !high(row)),
      worstOf,
      { tolerance: LOW_LATITUDE_TOLERANCE_MIN, count: 65 },
    );
  });

  it('agrees within a minute and a half beyond 60°', () => {
    expectAllWithin(normal.filter(high), worstOf, {
      tolerance: HIGH_LATITUDE_TOLERANCE_MIN,
      count: 12,
    });
  });
});

// Source: astronomy-engine 2.1.19 (MIT): its own search for the sun's upper edge at 34′ of refraction.
describe('sunrise and sunset against an independent ephemeris', () => {
  const ORACLE_TOLERANCE_MIN = 1; // almanacs round to 1 min
  const oracleMin = (row: { dayMs: number; latitudeDeg: number; longitudeDeg: number }): number => {
    const times = sunTimes(row.dayMs, row.latitudeDeg, row.longitudeDeg);
    if (times.kind !== 'normal') return Infinity;
    const observer = new Observer(row.latitudeDeg, row.longitudeDeg, 0);
    const search = (direction: 1 | -1, aroundMs: number): number =>
      SearchRiseSet(
        Body.Sun,
        observer,
        direction,
        new Date(aroundMs - DAY_MS / 4),
        1,
      )!.date.getTime();
    return (
      Math.max(
        Math.abs(search(1, times.riseMs) - times.riseMs),
        Math.abs(search(-1, times.setMs) - times.setMs),
      ) / MINUTE_MS
    );
  };

  it('agrees within a minute through the year', () => {
    const places = [
      { latitudeDeg: 54.3, longitudeDeg: -2.2 },
      { latitudeDeg: 0, longitudeDeg: 100 },
      { latitudeDeg: -45, longitudeDeg: 170 },
      { latitudeDeg: 59, longitudeDeg: -150 },
    ];
    const cases = places.flatMap((place) =>
      Array.from({ length: 36 }, (_, index) => ({
        ...place,
        dayMs: Date.UTC(2026, 0, 5) + index * 10 * DAY_MS,
      })),
    );
    expectAllWithin(cases, oracleMin, { tolerance: ORACLE_TOLERANCE_MIN, count: 144 });
  });

  it('agrees within a minute in the far north, where the sun grazes the horizon', () => {
    const dates = [
      '2024-01-25',
      '2024-03-20',
      '2024-05-15',
      '2024-08-01',
      '2024-09-22',
      '2024-11-25',
    ];
    expectAllWithin(
      dates.map((date) => ({ dayMs: Date.parse(date), latitudeDeg: 69.65, longitudeDeg: 18.96 })),
      oracleMin,
      { tolerance: ORACLE_TOLERANCE_MIN, count: 6 },
    );
  });

  it('finds the same nights in a month', () => {
    const fromMs = Date.UTC(2026, 10, 1, 12);
    const toMs = fromMs + 30 * DAY_MS;
    const observer = new Observer(54.3, -2.2, 0);
    const nights = nightsBetween(fromMs, toMs, 54.3, -2.2);
    expect(nights).toHaveLength(30);
    expectAllWithin(
      nights,
      ([startMs, endMs]) => {
        const set = SearchRiseSet(Body.Sun, observer, -1, new Date(startMs - DAY_MS / 4), 1)!;
        const rise = SearchRiseSet(Body.Sun, observer, 1, new Date(startMs), 1)!;
        return (
          Math.max(Math.abs(set.date.getTime() - startMs), Math.abs(rise.date.getTime() - endMs)) /
          MINUTE_MS
        );
      },
      { tolerance: ORACLE_TOLERANCE_MIN, count: 30 },
    );
  });
});
