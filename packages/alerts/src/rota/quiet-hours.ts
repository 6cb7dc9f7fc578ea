import type { Person } from '@duskline/domain';
import { Temporal } from 'temporal-polyfill';

type Sleeper = Pick<Person, 'quiet' | 'timeZone'>;

/** Is it quiet for that person now? */
export function isQuiet({ quiet, timeZone }: Sleeper, atMs: number): boolean {
  const { fromMinute, untilMinute } = quiet;
  const minute = minuteOfDay(atMs, timeZone);
  if (fromMinute === untilMinute) return false;
  return fromMinute < untilMinute
    ? minute >= fromMinute && minute < untilMinute
    : minute >= fromMinute || minute < untilMinute;
}

/** That instant, or the end of the quiet hours it falls into. */
export function nextWakingMs(person: Sleeper, atMs: number): number {
  return isQuiet(person, atMs) ? nextLocalMinute(person, atMs, person.quiet.untilMinute) : atMs;
}

/** The next time at which that person's clock shows that minute of the day, not before `atMs`. */
export function nextLocalMinute(
  { timeZone }: Pick<Person, 'timeZone'>,
  atMs: number,
  minute: number,
): number {
  const now = zoned(atMs, timeZone);
  for (const days of [0, 1, 2]) {
    const at = now
      .toPlainDate()
      .add({ days })
      .toZonedDateTime({
        timeZone,
        plainTime: new Temporal.PlainTime(Math.floor(minute / 60), minute % 60),
      });
    if (at.epochMilliseconds >= atMs) return at.epochMilliseconds;
  }
  throw new Error('nextLocalMinute: no such time within two days');
}

/** How much of [fromMs, toMs) that person was awake, by the quiet hours. */
export function wakingBetween(person: Sleeper, fromMs: number, toMs: number): number {
  let atMs = fromMs;
  let wakingMs = 0;
  while (atMs < toMs) {
    if (isQuiet(person, atMs)) {
      atMs = nextWakingMs(person, atMs);
      continue;
    }
    const quietMs =
      person.quiet.fromMinute === person.quiet.untilMinute
        ? Infinity
        : nextLocalMinute(person, atMs + 1, person.quiet.fromMinute);
    const untilMs = Math.min(quietMs, toMs);
    wakingMs += untilMs - atMs;
    atMs = untilMs;
  }
  return wakingMs;
}

/** The instant at which that person will have been awake for so long since `fromMs`. */
export function afterWaking(person: Sleeper, fromMs: number, wakingMs: number): number {
  let atMs = nextWakingMs(person, fromMs);
  let leftMs = wakingMs;
  if (person.quiet.fromMinute === person.quiet.untilMinute) return atMs + leftMs;
  for (;;) {
    const quietMs = nextLocalMinute(person, atMs + 1, person.quiet.fromMinute);
    if (atMs + leftMs <= quietMs) return atMs + leftMs;
    leftMs -= quietMs - atMs;
    atMs = nextWakingMs(person, quietMs);
  }
}

const zoned = (atMs: number, timeZone: string): Temporal.ZonedDateTime =>
  Temporal.Instant.fromEpochMilliseconds(atMs).toZonedDateTimeISO(timeZone);

function minuteOfDay(atMs: number, timeZone: string): number {
  const { hour, minute } = zoned(atMs, timeZone);
  return hour * 60 + minute;
}
