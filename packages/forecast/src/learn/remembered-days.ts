import { DAY_MS } from '@duskline/domain';
import type { LearntDay } from './learnt-site.ts';
import type { YieldDay } from './yield-days.ts';

/** Days of this season in earlier years serve, and the weeks that followed them; others say nothing of what comes. */
const BEFORE_DAYS = 30;
const AFTER_DAYS = 60;
const RECENT_DAYS = 60;
const DAYS_PER_YEAR = 365.25;

/**
 * Days of which only the yield was kept, as days of the pool.
 *
 * @param days     as learnt
 * @param todayMs  start of the solar day in which the forecast starts
 * @returns ascending; `firstHour` −1: their hours are not at hand
 */
export function rememberedDays(days: readonly LearntDay[], todayMs: number): readonly YieldDay[] {
  return days.flatMap(({ dayMs, ratio, isCensored, heardShare, meanC, fromDarkSpell }) => {
    const day = Math.round((dayMs - todayMs) / DAY_MS);
    const offDate = day + Math.round(-day / DAYS_PER_YEAR) * DAYS_PER_YEAR;
    const isSeason = offDate >= -BEFORE_DAYS && offDate <= AFTER_DAYS && day < -RECENT_DAYS;
    if (day >= 0 || !(isSeason || day >= -RECENT_DAYS)) return [];
    return [
      {
        day,
        ratio,
        isCensored,
        heardShare,
        firstHour: -1,
        ...(meanC !== undefined && { meanC }),
        ...(fromDarkSpell !== undefined && { fromDarkSpell }),
      },
    ];
  });
}
