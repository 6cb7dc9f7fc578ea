import { DAY_MS, HOUR_MS } from '@duskline/domain';
import { describe, expect, it } from 'vitest';
import { madeUpHistory } from '../testing.ts';
import { gradeOutlook, type ToGrade } from './grade-outlook.ts';
import { watchOutcome } from './outcome-watch.ts';

const issuedAtMs = Date.UTC(2026, 10, 1);
const outlook: ToGrade = {
  issuedAtMs,
  of: 'empty',
  days: [2, 4, 6, Infinity],
  chance7: 0.75,
  baselines: { lastDay: 3, lastWeek: null, noSun: 2 },
};
const day = (days: number): number => issuedAtMs + days * DAY_MS;
const watch = (known: { emptiedAtMs?: number; heardUntilMs: number }) => known;

describe('a grade', () => {
  it('is given at once when the node went empty', () => {
    const grade = gradeOutlook(
      outlook,
      watch({ emptiedAtMs: day(5), heardUntilMs: day(5) }),
      day(5.5),
    );
    expect(grade).toMatchObject({ happened7: true, outcome: 'happened', outcomeDays: 5 });
    expect(grade.nextDueAtMs).toBeUndefined();
    // By hand: members 2, 4, 6, 21 against 5: mean error (3 + 1 + 1 + 16) / 4 = 5.25; mean of all pairs
    // (2·(2 + 4 + 19 + 2 + 17 + 15)) / 16 = 7.375, half of it 3.6875.
    expect(grade.figures?.crpsDays).toBeCloseTo(5.25 - 3.6875, 12);
    expect(grade.figures?.brier7).toBeCloseTo(0.0625, 12);
    expect(grade.figures?.covered80).toBe(true);
    // The plain rules: 3 days against 5 is 2 off; "never" counts as 21.
    expect(grade.figures?.baselines).toEqual({
      lastDay: { crpsDays: 2, brier7: 0 },
      lastWeek: { crpsDays: 16, brier7: 1 },
      noSun: { crpsDays: 3, brier7: 0 },
    });
  });

  it('says after seven days that it has not happened in seven, and waits for the rest', () => {
    expect(gradeOutlook(outlook, watch({ heardUntilMs: day(8) }), day(8))).toEqual({
      happened7: false,
      nextDueAtMs: day(21),
    });
  });

  it('does not take silence for staying up', () => {
    const grade = gradeOutlook(outlook, watch({ heardUntilMs: day(3) }), day(9));
    expect(grade).toEqual({ nextDueAtMs: day(9) + 6 * HOUR_MS });
    expect(gradeOutlook(outlook, watch({ heardUntilMs: day(3) }), day(36))).toEqual({
      outcome: 'unknown',
    });
  });

  it('is "did not" for what came later than is scored', () => {
    const late = gradeOutlook(
      outlook,
      watch({ emptiedAtMs: day(25), heardUntilMs: day(25) }),
      day(26),
    );
    expect(late).toMatchObject({ happened7: false, outcome: 'did-not' });
    expect(late.outcomeDays).toBeUndefined();
  });

  it('of a dark node waits for its first word, and the clock alone ends the wait', () => {
    const back = { ...outlook, of: 'return' as const };
    expect(
      gradeOutlook(back, { heardAgainAtMs: day(4), heardUntilMs: day(4) }, day(5)),
    ).toMatchObject({ outcome: 'happened', outcomeDays: 4 });
    expect(gradeOutlook(back, { heardUntilMs: day(0) }, day(22))).toMatchObject({
      outcome: 'did-not',
    });
  });
});

describe('what came of it', () => {
  const shutDownRatio = 0.15;
  const look = (ratio: (hour: number) => number | null, darkFromMs: readonly number[] = []) =>
    watchOutcome(
      {
        history: madeUpHistory(issuedAtMs - 24 * HOUR_MS, 10 * 24, { chargeRatio: ratio }),
        shutDownRatio,
        darkFromMs,
      },
      issuedAtMs,
    );

  it('is a stop when silence follows a charge near the shut-down level', () => {
    const found = look((hour) => (hour < 24 + 50 ? 0.6 - hour * 0.006 : hour < 150 ? null : 0.5));
    expect(found.emptiedAtMs).toBe(issuedAtMs + 50 * HOUR_MS);
    expect(found.heardAgainAtMs).toBe(issuedAtMs);
    expect(found.heardUntilMs).toBe(issuedAtMs + 9 * DAY_MS);
  });

  it('is no stop when a link fails with a healthy charge, nor when readings skip two hours', () => {
    expect(look((hour) => (hour > 60 && hour < 90 ? null : 0.7)).emptiedAtMs).toBeUndefined();
    expect(look((hour) => (hour > 60 && hour < 63 ? null : 0.18)).emptiedAtMs).toBeUndefined();
  });

  it('is a stop when the level itself is read, or the node was judged dark, whichever is first', () => {
    expect(look((hour) => (hour === 100 ? 0.15 : 0.7)).emptiedAtMs).toBe(issuedAtMs + 76 * HOUR_MS);
    expect(
      look((hour) => (hour === 100 ? 0.15 : 0.7), [day(1), issuedAtMs - DAY_MS]).emptiedAtMs,
    ).toBe(day(1));
  });

  it('does not count a stop that was over before', () => {
    expect(look((hour) => (hour < 5 ? 0.15 : hour < 12 ? null : 0.6)).emptiedAtMs).toBeUndefined();
  });
});
