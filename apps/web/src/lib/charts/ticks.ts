import { DAY_MS, HOUR_MS } from '@duskline/domain';
import {
  clockTime,
  dayAndMonth,
  monthName,
  offsetMin,
  startOfDayMs,
  weekdayName,
} from '../format/time.ts';

export interface TimeTick {
  readonly atMs: number;
  readonly label: string;
  /** Begins a larger stretch: a day among hours, a week among days, a year among months. */
  readonly strong: boolean;
}

const NOON_MS = 12 * HOUR_MS;

/** Midnights of the site's own calendar from the first at or after `fromMs` to the last at or before `toMs`. */
export function midnights(fromMs: number, toMs: number, timeZone: string): readonly number[] {
  const found: number[] = [];
  let day = startOfDayMs(fromMs, timeZone);
  while (day <= toMs) {
    if (day >= fromMs) found.push(day);
    // A day and a half on is always inside the next day, however the clocks change.
    day = startOfDayMs(day + DAY_MS + NOON_MS, timeZone);
  }
  return found;
}

const dayOfMonth = (atMs: number, timeZone: string): number =>
  new Date(atMs + offsetMin(atMs, timeZone) * 60_000).getUTCDate();

function hourTicks(fromMs: number, toMs: number, timeZone: string, everyHours: number) {
  const days = [startOfDayMs(fromMs, timeZone), ...midnights(fromMs, toMs, timeZone)];
  const ticks = [...new Set(days)].flatMap((day) =>
    Array.from({ length: 24 / everyHours }, (_, i) => day + i * everyHours * HOUR_MS),
  );
  return ticks
    .filter((atMs) => atMs >= fromMs && atMs <= toMs)
    .map((atMs) => {
      const strong = startOfDayMs(atMs, timeZone) === atMs;
      const label = strong ? dayAndMonth(atMs, timeZone) : clockTime(atMs, timeZone);
      return { atMs, label, strong };
    });
}

/**
 * Ticks of a time axis in the site's calendar: hours for a day or two, days for weeks, months for a year.
 *
 * @param most  how many labels fit
 */
export function timeTicks(
  { fromMs, toMs, timeZone }: { fromMs: number; toMs: number; timeZone: string },
  most: number,
): readonly TimeTick[] {
  const days = (toMs - fromMs) / DAY_MS;
  if (days <= 2.5) {
    const every = [1, 2, 3, 4, 6, 12, 24].find((hours) => (days * 24) / hours <= most) ?? 24;
    return hourTicks(fromMs, toMs, timeZone, every);
  }
  const all = midnights(fromMs, toMs, timeZone);
  if (days > 120) {
    const firsts = all.filter((atMs) => dayOfMonth(atMs, timeZone) === 1);
    const every = Math.max(1, Math.ceil(firsts.length / most));
    return firsts
      .filter((_, i) => i % every === 0)
      .map((atMs) => ({ atMs, label: monthName(atMs, timeZone), strong: false }));
  }
  const every = [1, 2, 7, 14, 28].find((step) => all.length / step <= most) ?? 28;
  return all
    .filter((_, i) => i % every === 0)
    .map((atMs) => {
      const weekday = weekdayName(atMs, timeZone);
      const label =
        every === 1 && days <= 8
          ? `${weekday} ${dayAndMonth(atMs, timeZone)}`
          : dayAndMonth(atMs, timeZone);
      return { atMs, label, strong: weekday === 'Mon' };
    });
}
