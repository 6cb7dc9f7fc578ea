import { HOUR_MS } from '@duskline/domain';
import { describe, expect, it } from 'vitest';
import { exactly, moor, moorPower } from '../testing.ts';
import { live } from '../testing-life.ts';
import { seasonOutlook, type SeasonOutlook } from './season-outlook.ts';

function seasonOf(loadW: number, seed = 3): SeasonOutlook {
  const history = live({ loadW: () => loadW, endMs: Date.UTC(2026, 8, 15) });
  const nowMs = history.startMs + history.panelW.length * HOUR_MS;
  const season = seasonOutlook({
    nowMs,
    seed,
    position: moor,
    power: moorPower,
    history,
    charge: exactly(0.8, nowMs),
    paths: 60,
  });
  if (season.kind !== 'season') throw new Error(season.missing);
  return season;
}

describe('the season ahead', () => {
  const season = seasonOf(0.9);
  const darkDays = (month: string): number =>
    season.months.find((one) => one.month === month)!.darkDays;

  it('covers a year, month by month', () => {
    expect(season.months.map(({ month }) => month)).toEqual([
      ...['2026-09', '2026-10', '2026-11', '2026-12'],
      ...['2027-01', '2027-02', '2027-03', '2027-04', '2027-05', '2027-06', '2027-07', '2027-08'],
      '2027-09',
    ]);
    expect(season.months.reduce((sum, { days }) => sum + days, 0)).toBeCloseTo(365, 6);
    for (const { darkDays: dark, days } of season.months) expect(dark).toBeLessThanOrEqual(days);
  });

  // At 54.5° N the daily sum over level ground is ten times as large in June as in December (extraterrestrial: FAO 56, table 2.6).
  it('is dark in midwinter and not in summer, for a node that June feeds twice and December not at all', () => {
    expect(darkDays('2026-12')).toBeGreaterThan(5);
    expect(darkDays('2027-06')).toBeLessThan(1);
    expect(season.says).toMatch(/Most of its dark days fall in (December 2026|January 2027)/);
  });

  // With no path dark in it, half a path is left of sixty: (0 + 0.5) / 61.
  it('gives a month in which no path goes dark no more than the least chance there is', () => {
    const spared = season.months.filter((month) => month.darkDays < 1e-6);
    expect(spared.map(({ month }) => month)).toContain('2027-06');
    for (const month of spared) expect(month.darkProbability).toBeLessThan(0.01);
  });

  it('is darker with more load, and the same for the same seed', () => {
    const sum = (one: SeasonOutlook): number =>
      one.months.reduce((total, month) => total + month.darkDays, 0);
    expect(sum(seasonOf(1.4))).toBeGreaterThan(sum(season));
    expect(seasonOf(0.9)).toEqual(season);
    expect(seasonOf(0.9, 4)).not.toEqual(season);
  });
});
