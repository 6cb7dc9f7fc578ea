import { judgeExcess, MISSING, NOT_EVALUATED, type TestResult } from '../series.ts';

/** Fewer neighbours than this have no middle. */
const LEAST_NEIGHBOURS = 3;

/**
 * Neighbour: how far a value lies from the median of what other nodes near by read at the time.
 *
 * @param others one value for each neighbour
 * @returns 2 with fewer than three of them
 * @source QARTOD manuals, "nearby sensor/neighbour" test (suggested); the median is our choice: one bad neighbour moves no mean
 */
export function neighbourTest(
  value: number | null,
  others: readonly number[],
  limits: { readonly suspect: number },
): TestResult {
  if (value === null) return MISSING;
  if (others.length < LEAST_NEIGHBOURS) return NOT_EVALUATED;
  const sorted = [...others].sort((a, b) => a - b);
  const upper = sorted[Math.floor(sorted.length / 2)] ?? value;
  const lower = sorted[Math.ceil(sorted.length / 2) - 1] ?? value;
  return judgeExcess(Math.abs(value - (lower + upper) / 2), limits);
}
