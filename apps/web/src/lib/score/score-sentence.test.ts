import type { ScoreJson } from '@duskline/contract';
import { describe, expect, it } from 'vitest';
import { reliabilityError, ruleErrors, scoreSentence } from './score-sentence.ts';

const bin = (meanChance: number, observedShare: number, count: number) => ({
  from: 0,
  to: 1,
  count,
  hindcasts: 0,
  meanChance,
  observedShare,
});
const interval = { value: 1, low: 0.5, high: 2 };
const score = (
  chance: Partial<ScoreJson['chance']>,
  days: Partial<ScoreJson['days']> = {},
): ScoreJson => ({
  now: '2026-11-26T00:00:00.000Z',
  from: '2025-11-26T00:00:00.000Z',
  of: 'all',
  chance: {
    withinDays: 7,
    count: 0,
    hindcasts: 0,
    events: 0,
    baseRate: 0,
    brier: null,
    skillAgainstBaseRate: null,
    skillAgainstLastDay: null,
    skillAgainstLastWeek: null,
    skillAgainstNoSun: null,
    bins: [],
    ...chance,
  },
  days: {
    withinDays: 21,
    count: 0,
    hindcasts: 0,
    emptied: 0,
    nonTrivial: 0,
    crpsDays: null,
    lastDayCrpsDays: null,
    lastWeekCrpsDays: null,
    noSunCrpsDays: null,
    skillAgainstLastWeek: null,
    cover80: null,
    tenths: new Array<number>(10).fill(0),
    ...days,
  },
  back: { count: 0, crpsDays: null, cover80: null },
  unknown: 0,
  recalibration: null,
  nodes: [],
});

describe('the score in words', () => {
  it('sets what was said beside what came, and says what is a hindcast', () => {
    const said = scoreSentence(
      score({ count: 40, hindcasts: 30, events: 10, bins: [bin(0.1, 0, 20), bin(0.5, 0.5, 20)] }),
    ).replaceAll('\u00a0', ' ');
    expect(said).toContain('said 30 % on average');
    expect(said).toContain('in 25 % of the cases: 40 outlooks, 30 of them hindcasts.');
    expect(scoreSentence(score({}))).toContain('No outlook has come to its end yet');
  });

  it('weighs the distance from the line by the number of outlooks', () => {
    expect(reliabilityError([bin(0.1, 0.1, 90), bin(0.8, 0.5, 10)])).toBeCloseTo(0.03, 12);
    expect(reliabilityError([])).toBeUndefined();
  });

  it('leaves out rules of which nothing can be told', () => {
    expect(
      ruleErrors(score({}, { crpsDays: interval, noSunCrpsDays: interval })).map(
        ({ name, isOurs }) => [name, isOurs],
      ),
    ).toEqual([
      ['outlook', true],
      ['reserve, no sun', false],
    ]);
  });
});
