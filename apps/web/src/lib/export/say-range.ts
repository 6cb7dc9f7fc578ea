import { DAY_MS } from '@duskline/domain';
import { exportText as words } from '../text/export.ts';

const dayOf = (atMs: number): string =>
  new Intl.DateTimeFormat('en-GB', {
    day: 'numeric',
    month: 'short',
    year: 'numeric',
    timeZone: 'UTC',
  }).format(atMs);

/** The days a form starts with: a week, the last of them today. Days of UTC, as the fields want them. */
export function lastWeek(nowMs: number): { readonly from: string; readonly to: string } {
  const day = (atMs: number): string => new Date(atMs).toISOString().slice(0, 10);
  return { from: day(nowMs - 6 * DAY_MS), to: day(nowMs + DAY_MS) };
}

/**
 * What two fields of days come to, in words.
 *
 * @param from   first day, "2026-11-21"
 * @param to     the day after the last
 * @returns "7 days, 21 Nov 2026 to 27 Nov 2026, …"; empty while a field is
 */
export function sayRange(from: string, to: string, nowMs: number): string {
  const [fromMs, toMs] = [Date.parse(from), Date.parse(to)];
  if (Number.isNaN(fromMs) || Number.isNaN(toMs)) return '';
  if (toMs <= fromMs) return words.noRange;
  const lastMs = toMs - DAY_MS;
  const isToday = lastMs <= nowMs && nowMs < toMs;
  return words.range((toMs - fromMs) / DAY_MS, dayOf(fromMs), dayOf(lastMs), isToday);
}
