import {
  judgeExcess,
  MISSING,
  NOT_EVALUATED,
  type SeriesPoint,
  type TestResult,
} from '../series.ts';

export interface SpikeLimits {
  readonly suspect: number;
  readonly fail?: number;
  /** A neighbour further away than this is a missing one. */
  readonly maxGapS: number;
}

/**
 * Spike: how far a reading lies from the middle of its two neighbours, |v(n−1) − (v(n) + v(n−2)) / 2|.
 *
 * @param series by time
 * @returns 2 for the first and last reading and where a neighbour is missing
 * @source ioos_qc `qartod.py`, `spike_test` (average method); QARTOD manuals, test 6
 */
export function spikeTest(series: readonly SeriesPoint[], limits: SpikeLimits): TestResult[] {
  const near = (a: SeriesPoint, b: SeriesPoint) =>
    Math.abs(a.atMs - b.atMs) <= limits.maxGapS * 1000;
  return series.map((point, i) => {
    if (point.value === null) return MISSING;
    const before = series[i - 1];
    const after = series[i + 1];
    if (before === undefined || after === undefined) return NOT_EVALUATED;
    if (before.value === null || after.value === null) return NOT_EVALUATED;
    if (!near(before, point) || !near(after, point)) return NOT_EVALUATED;
    return judgeExcess(Math.abs(point.value - (before.value + after.value) / 2), limits);
  });
}
