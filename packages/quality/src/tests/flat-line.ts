import { MISSING, NOT_EVALUATED, PASS, type SeriesPoint, type TestResult } from '../series.ts';

export interface FlatLineLimits {
  /** Variation below it is none. */
  readonly tolerance: number;
  readonly suspectS: number;
  readonly failS?: number;
  /** Usual time between two readings: a window is whole when the one before it would lie outside. */
  readonly stepS: number;
  /** With a longer gap in it a window says nothing. */
  readonly maxGapS: number;
}

/** Is a still stretch real (saturated air, calm wind)? Asked of places in the series, both ends included. */
export type Exemption = (first: number, last: number) => boolean;

/**
 * Flat line: the greatest less the least value of the window that ends at a reading is below the tolerance.
 *
 * @param series by time
 * @returns 2 before the first whole window
 * @source ioos_qc `qartod.py`, `flat_line_test`; QARTOD manuals, test 8. Windows are of time here, of counted readings there,
 *         which is the same for readings at even steps
 */
export function flatLineTest(
  series: readonly SeriesPoint[],
  limits: FlatLineLimits,
  isExempt: Exemption = () => false,
): TestResult[] {
  const suspect = stillnessOver(series, limits, limits.suspectS);
  const fail = limits.failS === undefined ? [] : stillnessOver(series, limits, limits.failS);
  return series.map((point, i) => {
    if (point.value === null) return MISSING;
    const failing = fail[i];
    if (failing?.still === true && !isExempt(failing.first, i))
      return { flag: 4, found: failing.range, limit: limits.tolerance };
    const window = suspect[i];
    if (window === undefined) return NOT_EVALUATED;
    if (window.still && !isExempt(window.first, i))
      return { flag: 3, found: window.range, limit: limits.tolerance };
    return PASS;
  });
}

interface Window {
  readonly first: number;
  readonly range: number;
  readonly still: boolean;
}

/** For each place the window that ends there, undefined where it is not whole. Least and greatest move along with it. */
function stillnessOver(
  series: readonly SeriesPoint[],
  { tolerance, stepS, maxGapS }: FlatLineLimits,
  windowS: number,
): (Window | undefined)[] {
  const least = movingEnd(series, (a, b) => a <= b);
  const greatest = movingEnd(series, (a, b) => a >= b);
  let first = 0;
  return series.map((point, i) => {
    const before = series[i - 1];
    if (before !== undefined && point.atMs - before.atMs > maxGapS * 1000) first = i;
    while ((series[first]?.atMs ?? point.atMs) < point.atMs - windowS * 1000) first += 1;
    const low = least(first, i);
    const high = greatest(first, i);
    const heardS = (point.atMs - (series[first]?.atMs ?? point.atMs)) / 1000;
    if (low === undefined || high === undefined || heardS + stepS <= windowS) return undefined;
    return { first, range: high - low, still: high - low < tolerance };
  });
}

/** The least (or greatest) value between two places that only move forward. */
function movingEnd(series: readonly SeriesPoint[], wins: (a: number, b: number) => boolean) {
  const queue: { readonly at: number; readonly value: number }[] = [];
  let head = 0;
  return (first: number, last: number): number | undefined => {
    const value = series[last]?.value ?? null;
    if (value !== null) {
      while (queue.length > head && wins(value, queue.at(-1)?.value ?? value)) queue.pop();
      queue.push({ at: last, value });
    }
    while (head < queue.length && (queue[head]?.at ?? first) < first) head += 1;
    return queue[head]?.value;
  };
}
