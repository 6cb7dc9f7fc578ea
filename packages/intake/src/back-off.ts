import { SECOND_MS } from '@duskline/domain';

const FIRST_MS = SECOND_MS / 2;
const LONGEST_MS = 8 * SECOND_MS;

/**
 * How long to wait before the next attempt: twice as long each time up to 8 s, and by chance between half of that and the
 * whole, so that several servers do not come back in the same moment.
 *
 * @param failures attempts that failed in a row, from 1
 * @param chance   in [0, 1)
 */
export function backOffMs(failures: number, chance: number): number {
  const longest = Math.min(LONGEST_MS, FIRST_MS * 2 ** (failures - 1));
  return longest * (0.5 + chance / 2);
}
