import {
  judgeExcess,
  MISSING,
  NOT_EVALUATED,
  type SeriesPoint,
  type TestResult,
} from '../series.ts';

export interface RateLimits {
  readonly suspectPerS: number;
  readonly failPerS?: number;
  /** A change over less time is taken over so many seconds: limits of one-minute values hold for 30-second ones too. */
  readonly leastS?: number;
  /** Across a longer gap nothing is said. */
  readonly maxGapS: number;
}

/**
 * Rate of change: |v(n) − v(n−1)| for each second between the two.
 *
 * @param series by time
 * @returns 2 for the first reading, after a missing one and after a gap
 * @source ioos_qc `qartod.py`, `rate_of_change_test`; QARTOD manuals, test 7
 */
export function rateOfChangeTest(series: readonly SeriesPoint[], limits: RateLimits): TestResult[] {
  const { suspectPerS, failPerS, leastS = 0, maxGapS } = limits;
  return series.map((point, i) => {
    if (point.value === null) return MISSING;
    const before = series[i - 1];
    if (before === undefined || before.value === null) return NOT_EVALUATED;
    const gapS = (point.atMs - before.atMs) / 1000;
    if (gapS > maxGapS || gapS <= 0) return NOT_EVALUATED;
    const perS = Math.abs(point.value - before.value) / Math.max(gapS, leastS);
    return judgeExcess(perS, { suspect: suspectPerS, fail: failPerS });
  });
}
