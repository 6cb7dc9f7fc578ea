/** One reading of one metric, in a series by time. `value` null: expected but missing. */
export interface SeriesPoint {
  readonly atMs: number;
  readonly value: number | null;
}

/** What a test says of one reading: its flag, and when that is 3 or 4 what was found and which limit it broke. */
export interface TestResult {
  readonly flag: 1 | 2 | 3 | 4 | 9;
  readonly found?: number;
  readonly limit?: number;
}

export const PASS: TestResult = { flag: 1 };
export const NOT_EVALUATED: TestResult = { flag: 2 };
export const MISSING: TestResult = { flag: 9 };

/** The flag for a figure that must not exceed a suspect and, where given, a fail limit. */
export function judgeExcess(
  found: number,
  limits: { readonly suspect: number; readonly fail?: number | undefined },
): TestResult {
  if (limits.fail !== undefined && found > limits.fail)
    return { flag: 4, found, limit: limits.fail };
  if (found > limits.suspect) return { flag: 3, found, limit: limits.suspect };
  return PASS;
}
