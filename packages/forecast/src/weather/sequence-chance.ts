import { classOf, type ReadyMatrix } from './clearness-chain.ts';

/** A cell of the library with no case in it is rare, not impossible. */
const LEAST_CHANCE = 0.01;
/** The scale of the panel is not sure, so the sequence tells less than it seems. */
const WORTH = 0.5;

/**
 * Logarithm of the chance of days in their order under one matrix.
 *
 * @param days     ascending
 * @param stretch  what the matrix's clearness is multiplied by on a day
 */
export function chanceOfSequence(
  matrix: ReadyMatrix,
  days: readonly { readonly day: number; readonly clearness: number }[],
  stretch: (day: number) => number,
): number {
  let log = 0;
  let before: { readonly day: number; readonly found: number } | undefined;
  for (const { day, clearness } of days) {
    const found = classOf(matrix, clearness / stretch(day));
    const table = before?.day === day - 1 ? matrix.cumulative : matrix.settled;
    const row = before?.day === day - 1 ? before.found * 10 : 0;
    const chance = table[row + found]! - (found === 0 ? 0 : table[row + found - 1]!);
    log += Math.log(Math.max(LEAST_CHANCE, chance));
    before = { day, found };
  }
  return WORTH * log;
}
