import { DAY_MS } from './duration.ts';
import { offsetText } from './zone-offset.ts';

/** Formatters cost more than what they format: one per zone and shape is kept. */
const kept = new Map<string, Intl.DateTimeFormat>();

function formatter(timeZone: string, shape: string, options: Intl.DateTimeFormatOptions) {
  const key = `${timeZone}|${shape}`;
  const known = kept.get(key);
  if (known !== undefined) return known;
  const made = new Intl.DateTimeFormat('en-GB', { timeZone, hourCycle: 'h23', ...options });
  kept.set(key, made);
  return made;
}

const weekday = (atMs: number, zone: string) =>
  formatter(zone, 'weekday', { weekday: 'short' }).format(atMs);
const date = (atMs: number, zone: string) =>
  formatter(zone, 'date', { day: 'numeric', month: 'short' }).format(atMs);
const hourOf = (atMs: number, zone: string) =>
  Number(formatter(zone, 'hour', { hour: '2-digit' }).format(atMs));

/** "Wed 1 Jul 12:30 UTC+1": the time in a zone, most often the site's, with its offset. */
export function sayMoment(atMs: number, timeZone: string): string {
  const clock = formatter(timeZone, 'clock', { hour: '2-digit', minute: '2-digit' }).format(atMs);
  return `${weekday(atMs, timeZone)} ${date(atMs, timeZone)} ${clock} ${offsetText(atMs, timeZone)}`;
}

/** "Wed 1 Jul": a calendar day of a zone, for what is kept and read again when "tomorrow" would be wrong. */
export const sayDay = (atMs: number, timeZone: string): string =>
  `${weekday(atMs, timeZone)} ${date(atMs, timeZone)}`;

function partOfDay(hour: number): string {
  if (hour < 12) return 'morning';
  if (hour < 18) return 'afternoon';
  return 'evening';
}

/** "Fri morning" or "the night to Fri" inside the next six days, "12 Dec" beyond: no finer than a forecast can bear. */
export function sayRoughly(atMs: number, nowMs: number, timeZone: string): string {
  if (atMs - nowMs > 6 * DAY_MS || nowMs - atMs > 6 * DAY_MS) return date(atMs, timeZone);
  const hour = hourOf(atMs, timeZone);
  // "Fri night" is taken for its evening by whoever reads it on Thursday.
  if (hour < 6) return `the night to ${weekday(atMs, timeZone)}`;
  return `${weekday(atMs, timeZone)} ${partOfDay(hour)}`;
}

/** "12 min", "5 h", "3 days": the length of a silence or a wait. */
export function sayDuration(durationMs: number): string {
  const minutes = Math.round(durationMs / 60_000);
  if (minutes < 90) return `${minutes} min`;
  const hours = Math.round(minutes / 60);
  if (hours < 48) return `${hours} h`;
  return `${Math.round(hours / 24)} days`;
}

/** "34 %" from 0.34. */
export const sayPercent = (ratio: number): string => `${Math.round(ratio * 100)} %`;
