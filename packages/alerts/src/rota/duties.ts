import { MINUTE_MS, type AccountId, type Shift } from '@duskline/domain';
import { RRuleTemporal } from 'rrule-temporal';
import { Temporal } from 'temporal-polyfill';

/** One person on call for one stretch. */
export interface Duty {
  readonly shiftId: string;
  /** Local start of the occurrence: what exceptions and swaps name it by. */
  readonly start: string;
  readonly fromMs: number;
  readonly untilMs: number;
  readonly personId: AccountId;
  readonly groupId?: string;
  /** Whose it is by the rota, where somebody else does it. */
  readonly insteadOf?: AccountId;
}

/**
 * Occurrences of shifts that touch [fromMs, toMs), oldest first. Recurrence (RFC 5545) runs on the clock: it is worked out in
 * wall time and put into the zone afterwards, so that a start the clock skips in spring happens an hour later and is not lost,
 * and one that comes twice in autumn happens the first time.
 */
export function dutiesBetween(
  shifts: readonly Shift[],
  fromMs: number,
  toMs: number,
): readonly Duty[] {
  return shifts
    .flatMap((shift) => dutiesOf(shift, fromMs, toMs))
    .sort((a, b) => a.fromMs - b.fromMs || (a.shiftId < b.shiftId ? -1 : 1));
}

function dutiesOf(shift: Shift, fromMs: number, toMs: number): Duty[] {
  return startsOf(shift, fromMs, toMs).flatMap((start) => {
    const text = start.toString({ smallestUnit: 'minute' });
    if (shift.exceptions.includes(text)) return [];
    const begin = start.toZonedDateTime(shift.timeZone).epochMilliseconds;
    const onClock = start
      .add({ minutes: shift.durationMinutes })
      .toZonedDateTime(shift.timeZone).epochMilliseconds;
    // A start that the clock skipped may lie after its own end: then the shift is as long as it is always.
    const end = onClock > begin ? onClock : begin + shift.durationMinutes * MINUTE_MS;
    if (end <= fromMs || begin >= toMs) return [];
    const swap = shift.swaps.find((one) => one.start === text);
    const swapped = swap !== undefined && swap.to !== shift.personId;
    return [
      {
        shiftId: shift.id,
        start: text,
        fromMs: begin,
        untilMs: end,
        personId: swap?.to ?? shift.personId,
        ...(shift.groupId === undefined ? {} : { groupId: shift.groupId }),
        ...(swapped ? { insteadOf: shift.personId } : {}),
      },
    ];
  });
}

/** Local starts that can matter; a day more on both sides, for what the zone does to them. */
function startsOf(shift: Shift, fromMs: number, toMs: number): readonly Temporal.PlainDateTime[] {
  const first = Temporal.PlainDateTime.from(shift.start);
  if (shift.recurrence === '') return [first];
  const wall = (atMs: number) =>
    Temporal.Instant.fromEpochMilliseconds(atMs)
      .toZonedDateTimeISO(shift.timeZone)
      .toPlainDateTime();
  const asUtc = (at: Temporal.PlainDateTime) =>
    new Date(at.toZonedDateTime('UTC').epochMilliseconds);
  const low = wall(fromMs).subtract({ minutes: shift.durationMinutes, days: 1 });
  const high = wall(toMs).add({ days: 1 });
  if (Temporal.PlainDateTime.compare(high, first) < 0) return [];
  return ruleOf(shift)
    .between(asUtc(low), asUtc(high), true)
    .map((at) => Temporal.PlainDateTime.from(at.toPlainDateTime().toString()));
}

const ruleOf = ({ start, recurrence }: Pick<Shift, 'start' | 'recurrence'>): RRuleTemporal =>
  new RRuleTemporal({
    rruleString: `DTSTART;TZID=UTC:${start.replace(/[-:]/g, '')}00\nRRULE:${recurrence}`,
  });

const FINEST = new Set(['SECONDLY', 'MINUTELY', 'HOURLY']);

/** What is wrong with a shift, in a sentence; undefined when it can go on the rota. */
export function faultOfShift(
  shift: Pick<Shift, 'start' | 'recurrence' | 'timeZone' | 'durationMinutes'>,
): string | undefined {
  try {
    Temporal.PlainDateTime.from(shift.start).toZonedDateTime(shift.timeZone);
  } catch {
    return 'The start is no time on a clock of that zone.';
  }
  if (shift.recurrence === '') return undefined;
  const frequency = /(?:^|;)FREQ=([A-Z]+)(?:;|$)/.exec(shift.recurrence)?.[1];
  if (frequency === undefined || FINEST.has(frequency))
    return 'A shift recurs daily, weekly, monthly or yearly: FREQ=DAILY, WEEKLY, MONTHLY or YEARLY.';
  try {
    const next = ruleOf(shift).next(new Date(0), true);
    return next === null ? 'The recurrence never happens.' : undefined;
  } catch (cause) {
    return `The recurrence cannot be read: ${cause instanceof Error ? cause.message : 'unknown'}`;
  }
}
