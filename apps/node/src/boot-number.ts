import { SECOND_MS } from '@duskline/domain';

const EPOCH_MS = Date.UTC(2020, 0, 1);
/** Before this the clock was never set. */
const PLAUSIBLE_FROM_MS = Date.UTC(2025, 0, 1);
/** Below the largest the wire takes, with room to count on from. */
const HIGHEST_BY_CLOCK = 2_000_000_000;

/**
 * The number of a new boot: above every one known, and by the clock where that is plausible, in seconds since 2020.
 *
 * The server takes a number it has seen for a message it has. A plain counter starts again at 1 on a new card, or goes back
 * with a card written from an old copy, and readings would be thanked for and thrown away.
 *
 * @param lastKnown the highest boot number this folder remembers; undefined when it remembers none
 * @param chance in [0, 1): used when there is neither a memory nor a clock
 */
export function nextBootNumber(
  lastKnown: number | undefined,
  nowMs: number,
  chance: number,
): number {
  const next = (lastKnown ?? 0) + 1;
  if (nowMs >= PLAUSIBLE_FROM_MS)
    return Math.max(next, Math.min(HIGHEST_BY_CLOCK, Math.floor((nowMs - EPOCH_MS) / SECOND_MS)));
  return lastKnown === undefined ? 1 + Math.floor(chance * HIGHEST_BY_CLOCK) : next;
}
