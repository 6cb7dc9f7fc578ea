import type postgres from 'postgres';

/** An int8 of the database does not fit a JavaScript number without loss. */
export class UnsafeIntegerError extends Error {
  readonly code = 'unsafe-integer';

  constructor(text: string) {
    super(`The database returned the integer ${text}, beyond what a number holds exactly.`);
    this.name = 'UnsafeIntegerError';
  }
}

function parseInteger(text: string): number {
  const value = Number(text);
  if (!Number.isSafeInteger(value)) throw new UnsafeIntegerError(text);
  return value;
}

/** Postgres says `2026-11-25 12:00:00.123456+00`; with TimeZone UTC the offset is always `+00`. */
function parseInstant(text: string): number {
  const isoText = text.replace(' ', 'T').replace(/\+00$/, 'Z');
  const epochMs = Date.parse(isoText);
  // `infinity` and years before 1 have no millisecond; nothing of ours writes them.
  if (Number.isNaN(epochMs)) throw new RangeError(`Not an instant: ${text}`);
  return epochMs;
}

const OID = { int8: 20, numeric: 1700, timestamptz: 1184 } as const;

/**
 * How column values become JavaScript values, beyond the driver's own rules.
 *
 * - `int8` and `count(*)`: a number; throws UnsafeIntegerError beyond ±(2^53 − 1).
 * - `numeric`: a number, rounded to the nearest double (`sum(int8)`, `extract(…)`).
 * - `timestamptz`: epoch milliseconds as a number (microseconds are cut). A number of milliseconds
 *   may be bound to a `timestamptz` parameter, too.
 */
export const valueTypes = {
  bigint: {
    to: OID.int8,
    from: [OID.int8],
    serialize: (value: number | bigint | string) => String(value),
    parse: parseInteger,
  },
  numeric: {
    to: OID.numeric,
    from: [OID.numeric],
    serialize: (value: number | string) => String(value),
    parse: Number,
  },
  date: {
    to: OID.timestamptz,
    from: [OID.timestamptz],
    serialize: (value: number | Date) => new Date(value).toISOString(),
    parse: parseInstant,
  },
} satisfies Record<string, postgres.PostgresType>;
