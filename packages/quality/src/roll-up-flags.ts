import type { QualityFlag } from '@duskline/domain';

/** From the least to the greatest say. */
const precedence: readonly QualityFlag[] = [9, 2, 1, 3, 4];

/**
 * The flag of two that stands for both: 4 before 3 before 1 before 2 before 9.
 *
 * @source ioos_qc `qartod.py`, `qartod_compare`
 */
export const higherFlag = (a: QualityFlag, b: QualityFlag): QualityFlag =>
  precedence.indexOf(a) >= precedence.indexOf(b) ? a : b;

/**
 * One flag for several tests of the same reading.
 *
 * @returns 2 when no test was made
 */
export function rollUpFlags(flags: Iterable<QualityFlag>): QualityFlag {
  let rank = -1;
  for (const flag of flags) rank = Math.max(rank, precedence.indexOf(flag));
  return precedence[rank] ?? 2;
}
