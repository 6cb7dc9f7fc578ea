import { MISSING, PASS, type SeriesPoint, type TestResult } from '../series.ts';

/**
 * More sunlight than a clear sky could give, for longer than the edge of a cloud lasts.
 *
 * @param series       by time, W/m² on the flat
 * @param clearSky     at an instant
 * @param limits.ratio times the clear sky; with less than `leastWPerM2` nothing is said (a low sun is hard to model)
 */
export function brighterThanClearSkyTest(
  series: readonly SeriesPoint[],
  clearSky: (atMs: number) => number,
  limits: {
    readonly ratio: number;
    readonly longerThanS: number;
    readonly leastWPerM2: number;
    readonly maxGapS: number;
  },
): TestResult[] {
  let sinceMs: number | undefined;
  let lastMs = -Infinity;
  return series.map(({ atMs, value }) => {
    if (value === null) return MISSING;
    if (atMs - lastMs > limits.maxGapS * 1000) sinceMs = undefined;
    lastMs = atMs;
    const limit =
      value > limits.leastWPerM2
        ? Math.max(limits.ratio * clearSky(atMs), limits.leastWPerM2)
        : Infinity;
    if (value <= limit) {
      sinceMs = undefined;
      return PASS;
    }
    sinceMs ??= atMs;
    return atMs - sinceMs > limits.longerThanS * 1000 ? { flag: 3, found: value, limit } : PASS;
  });
}
