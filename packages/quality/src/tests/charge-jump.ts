import { MISSING, NOT_EVALUATED, PASS, type SeriesPoint, type TestResult } from '../series.ts';

/**
 * Charge jump: no battery gains or loses so many points within so short a time; a gauge that was reset does.
 *
 * @param series by time, percent
 * @returns 2 where nothing was read in the time before
 */
export function chargeJumpTest(
  series: readonly SeriesPoint[],
  { pct, withinS }: { readonly pct: number; readonly withinS: number },
): TestResult[] {
  return series.map((point, i) => {
    if (point.value === null) return MISSING;
    let result = NOT_EVALUATED;
    for (let j = i - 1; j >= 0; j -= 1) {
      const earlier = series[j];
      if (earlier === undefined || point.atMs - earlier.atMs > withinS * 1000) break;
      if (earlier.value === null || earlier.atMs === point.atMs) continue;
      const found = Math.abs(point.value - earlier.value);
      if (found > pct) return { flag: 3, found, limit: pct };
      result = PASS;
    }
    return result;
  });
}
