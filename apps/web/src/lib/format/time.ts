import { DAY_MS, HOUR_MS, MINUTE_MS, offsetMin, offsetText, SECOND_MS } from '@duskline/domain';

export { offsetMin, offsetText, sayMoment } from '@duskline/domain';

const formats = new Map<string, Intl.DateTimeFormat>();

function formatter(timeZone: string | undefined, options: Intl.DateTimeFormatOptions) {
  const key = JSON.stringify([timeZone, options]);
  const known = formats.get(key);
  if (known !== undefined) return known;
  const made = new Intl.DateTimeFormat('en-GB', {
    hourCycle: 'h23',
    ...(timeZone === undefined ? {} : { timeZone }),
    ...options,
  });
  formats.set(key, made);
  return made;
}

/** The instant an API date-time stands for. */
export const instantMs = (iso: string): number => Date.parse(iso);

/** The same for a field that may be null. */
export const instantMsOr = <T>(iso: string | null, otherwise: T): number | T =>
  iso === null ? otherwise : Date.parse(iso);

/** The same instant on the reader's own clock, for a hover title. */
export const readerMoment = (atMs: number): string =>
  formatter(undefined, {
    weekday: 'short',
    day: 'numeric',
    month: 'short',
    hour: '2-digit',
    minute: '2-digit',
    second: '2-digit',
    timeZoneName: 'short',
  }).format(atMs);

/** "Wed 14:02". */
export const weekdayClock = (atMs: number, timeZone: string): string =>
  formatter(timeZone, { weekday: 'short', hour: '2-digit', minute: '2-digit' })
    .format(atMs)
    .replace(',', '');

/** "14:02". */
export const clockTime = (atMs: number, timeZone: string): string =>
  formatter(timeZone, { hour: '2-digit', minute: '2-digit' }).format(atMs);

/** "14:02 UTC+1". */
export const zonedClock = (atMs: number, timeZone: string): string =>
  `${clockTime(atMs, timeZone)} ${offsetText(atMs, timeZone)}`;

/** "Wed". */
export const weekdayName = (atMs: number, timeZone: string): string =>
  formatter(timeZone, { weekday: 'short' }).format(atMs);

/** "25 Nov". */
export const dayAndMonth = (atMs: number, timeZone: string): string =>
  formatter(timeZone, { day: 'numeric', month: 'short' }).format(atMs);

/** "Nov". */
export const monthName = (atMs: number, timeZone: string): string =>
  formatter(timeZone, { month: 'short' }).format(atMs);

/**
 * How long ago, no finer than it matters: seconds for a minute, then minutes, hours, days.
 *
 * @returns "12 s", "5 min", "3 h", "2 days"; "now" below a second or for the future
 */
export function ageText(durationMs: number): string {
  if (durationMs < SECOND_MS) return 'now';
  if (durationMs < MINUTE_MS) return `${Math.floor(durationMs / SECOND_MS)} s`;
  if (durationMs < 90 * MINUTE_MS) return `${Math.floor(durationMs / MINUTE_MS)} min`;
  if (durationMs < 2 * DAY_MS) return `${Math.floor(durationMs / HOUR_MS)} h`;
  return `${Math.floor(durationMs / DAY_MS)} days`;
}

/** Midnight of the zone's calendar day that holds the instant. */
export function startOfDayMs(atMs: number, timeZone: string): number {
  const localMs = atMs + offsetMin(atMs, timeZone) * MINUTE_MS;
  const midnightMs = Math.floor(localMs / DAY_MS) * DAY_MS;
  const guessMs = midnightMs - offsetMin(atMs, timeZone) * MINUTE_MS;
  // On the day the clocks change, the offset at midnight is not the offset now.
  return midnightMs - offsetMin(guessMs, timeZone) * MINUTE_MS;
}
