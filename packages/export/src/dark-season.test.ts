import { describe, expect, it } from 'vitest';
import { darkSeason, gapWarning, joinSeasons } from './dark-season.ts';
import type { Stretch } from './split-time.ts';

const at = (text: string): number => Date.parse(`${text}T00:00:00Z`);
const up = (from: string, to: string): Stretch => ({ fromMs: at(from), toMs: at(to) });
const gap = (from: string, to: string, cause: NonNullable<Stretch['gap']>['cause']): Stretch => ({
  ...up(from, to),
  gap: { cause, state: 'dark-as-designed', confidence: 'high', evidence: [] },
});

/** 2026: ten dark days in January, five in July, and twenty of a fault in December. */
const year: readonly Stretch[] = [
  up('2026-01-01', '2026-01-10'),
  gap('2026-01-10', '2026-01-20', 'dark as designed'),
  up('2026-01-20', '2026-07-01'),
  gap('2026-07-01', '2026-07-06', 'dark as designed'),
  up('2026-07-06', '2026-12-01'),
  gap('2026-12-01', '2026-12-21', 'fault'),
  up('2026-12-21', '2027-01-01'),
];
const DAY_MS = 86_400_000;

// Days counted by hand: January to March 31 + 28 + 31 = 90, October to December 31 + 30 + 31 = 92, of 365.
describe('whether gaps are random', () => {
  it('is measured by the darker half of the year in the north', () => {
    expect(darkSeason(year, 54.7)).toEqual({
      timeShare: 182 / 365,
      darkShare: 10 / 15,
      darkMs: 15 * DAY_MS,
    });
  });

  it('knows that the south has its dark half from April to September', () => {
    expect(darkSeason(year, -41.3)).toEqual({
      timeShare: 183 / 365,
      darkShare: 5 / 15,
      darkMs: 15 * DAY_MS,
    });
  });

  it('counts part days by the half they lie in, also over its edge', () => {
    const edge: readonly Stretch[] = [
      {
        ...gap('2026-03-31', '2026-04-02', 'dark as designed'),
        fromMs: at('2026-03-31') + DAY_MS / 4,
      },
      up('2026-04-02', '2026-04-03'),
    ];
    // 18 h before midnight of 1 April, 24 h after; then 24 h up.
    expect(darkSeason(edge, 54.7)).toEqual({
      timeShare: 18 / 66,
      darkShare: 18 / 42,
      darkMs: 42 * 3_600_000,
    });
  });

  it('says nothing where nothing was dark, or the range knows one half only', () => {
    expect(darkSeason([up('2026-01-01', '2027-01-01')], 54.7)).toBeUndefined();
    expect(darkSeason([gap('2026-06-01', '2026-12-01', 'fault')], 54.7)).toBeUndefined();
    expect(darkSeason([gap('2026-01-10', '2026-01-20', 'dark as designed')], 54.7)).toBeUndefined();
    expect(darkSeason([], 54.7)).toBeUndefined();
  });

  it('weighs sites by how long they were dark', () => {
    const seasons = [
      { timeShare: 0.5, darkShare: 1, darkMs: 30 * DAY_MS },
      { timeShare: 0.4, darkShare: 0.2, darkMs: 10 * DAY_MS },
    ];
    expect(joinSeasons(seasons)).toEqual({
      timeShare: 0.45,
      // (30 × 1 + 10 × 0.2) ÷ 40
      darkShare: 0.8,
      darkMs: 40 * DAY_MS,
    });
    expect(joinSeasons([])).toBeUndefined();
  });

  it('is warned of in plain words, with the figures where there are some', () => {
    const plain = gapWarning(undefined);
    expect(plain).toContain('Gaps are not random: nodes go dark in dark, cold weather.');
    expect(gapWarning(darkSeason(year, 54.7))).toBe(
      `${plain} Here 67 % of the dark time lies in the darker half of the year, which is 50 % of the period.`,
    );
  });
});
