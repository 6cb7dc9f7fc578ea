import { Temporal } from 'temporal-polyfill';

const QUARTER_MS = 15 * 60_000;

/** Writes instants as local time of a zone with its offset. Clocks change on quarters of an hour only. */
export interface LocalTime {
  /** `2026-10-25T01:30:00+01:00`. */
  text(ms: number): string;
  /** Where the civil day that contains the instant begins, and the next one. */
  day(ms: number): readonly [startMs: number, endMs: number];
}

export function localTime(timeZone: string): LocalTime {
  let quarter = Number.NaN;
  let offsetMs = 0;
  let suffix = '+00:00';
  const at = (ms: number) =>
    Temporal.Instant.fromEpochMilliseconds(ms).toZonedDateTimeISO(timeZone);
  return {
    text(ms) {
      const here = Math.floor(ms / QUARTER_MS);
      if (here !== quarter) {
        const zoned = at(ms);
        quarter = here;
        offsetMs = zoned.offsetNanoseconds / 1e6;
        suffix = zoned.offset;
      }
      return new Date(ms + offsetMs).toISOString().replace('.000Z', 'Z').replace('Z', suffix);
    },
    day(ms) {
      const start = at(ms).startOfDay();
      return [start.epochMilliseconds, start.add({ days: 1 }).startOfDay().epochMilliseconds];
    },
  };
}
