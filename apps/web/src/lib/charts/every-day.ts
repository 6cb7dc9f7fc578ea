import type { SitePageJson } from '@duskline/contract';
import { DAY_MS } from '@duskline/domain';
import { instantMs } from '../format/time.ts';

export type Day = SitePageJson['days'][number];

/** The days from the first to the last, with an empty one wherever one is missing. */
export function everyDay(days: readonly Day[]): readonly Day[] {
  return days.flatMap((day, i) => {
    const before = days[i - 1];
    if (before === undefined) return [day];
    const fromMs = instantMs(before.dayStart);
    // Solar days of one site are all of one length, but for the rounding of their start.
    const missing = Math.round((instantMs(day.dayStart) - fromMs) / DAY_MS) - 1;
    const empty = Array.from({ length: Math.max(0, missing) }, (_, n) => ({
      dayStart: new Date(fromMs + (n + 1) * DAY_MS).toISOString(),
      harvestWh: null,
      loadWh: null,
      hoursHeard: 0,
    }));
    return [...empty, day];
  });
}
