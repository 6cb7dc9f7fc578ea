import { DAY_MS } from './duration.ts';

/** A stretch of time whose end may be unknown. */
export interface TimeSpan {
  readonly fromMs: number;
  /** Undefined: not within the horizon. */
  readonly toMs?: number;
}

/** Where and when the reader stands: days are named from here. */
export interface DayReader {
  /** IANA name of the zone whose calendar is used. */
  readonly timeZone: string;
  readonly nowMs: number;
}

const WEEK_DAYS = 7;
const formats = new Map<string, Intl.DateTimeFormat>();

function dateParts(atMs: number, timeZone: string) {
  const format =
    formats.get(timeZone) ??
    new Intl.DateTimeFormat('en-GB', {
      timeZone,
      weekday: 'short',
      day: 'numeric',
      month: 'short',
      year: 'numeric',
    });
  formats.set(timeZone, format);
  const part = Object.fromEntries(format.formatToParts(atMs).map((p) => [p.type, p.value]));
  return {
    weekday: part['weekday'] ?? '',
    day: part['day'] ?? '',
    month: part['month'] ?? '',
    year: part['year'] ?? '',
  };
}

/**
 * Calendar days from now to an instant, in the reader's zone: 0 = today, 1 = tomorrow, −1 = yesterday.
 */
export function daysAway(atMs: number, { timeZone, nowMs }: DayReader): number {
  const dayNumber = (ms: number): number => {
    const { day, month, year } = dateParts(ms, timeZone);
    return Date.parse(`${day} ${month.slice(0, 3)} ${year} 00:00 UTC`) / DAY_MS;
  };
  return dayNumber(atMs) - dayNumber(nowMs);
}

/**
 * The day of an instant as people say it.
 *
 * @returns "today", "tomorrow", "yesterday", "Thu" within the six days after that, else "9 Dec"
 */
export function dayName(atMs: number, reader: DayReader): string {
  const away = daysAway(atMs, reader);
  if (away === 0) return 'today';
  if (away === 1) return 'tomorrow';
  if (away === -1) return 'yesterday';
  const { weekday, day, month } = dateParts(atMs, reader.timeZone);
  return away > 0 && away < WEEK_DAYS ? weekday : `${day} ${month}`;
}

/**
 * A span of days as people say it.
 *
 * @returns "Thu–Sat", "today–Sat", "today or tomorrow", "9–14 Dec", "28 Nov–3 Dec"; "Thu" when it is one day;
 *   "Thu at the earliest" when the end is unknown
 */
export function daySpan(span: TimeSpan, reader: DayReader): string {
  const from = dayName(span.fromMs, reader);
  if (span.toMs === undefined) return `${from} at the earliest`;
  const to = dayName(span.toMs, reader);
  if (from === to) return from;
  if (from === 'today') return to === 'tomorrow' ? 'today or tomorrow' : `today–${to}`;
  const [start, end] = [
    dateParts(span.fromMs, reader.timeZone),
    dateParts(span.toMs, reader.timeZone),
  ];
  const away = daysAway(span.toMs, reader);
  if (away > 0 && away < WEEK_DAYS && daysAway(span.fromMs, reader) > 0)
    return `${start.weekday}–${end.weekday}`;
  return start.month === end.month
    ? `${start.day}–${end.day} ${end.month}`
    : `${start.day} ${start.month}–${end.day} ${end.month}`;
}
