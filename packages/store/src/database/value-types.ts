import type postgres from 'postgres';
import { formatArray, parseArray, type NestedArray } from './array-text.ts';

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
  const epochMs = Date.parse(text.replace(' ', 'T').replace(/\+00$/, 'Z'));
  // `infinity` and years before Christ have no millisecond; nothing of ours writes them.
  if (Number.isNaN(epochMs)) throw new RangeError(`Not an instant: ${text}`);
  return epochMs;
}

interface ElementType {
  /** Object ids of the type and of its array (PostgreSQL source, `pg_type.dat`). */
  readonly oid: number;
  readonly arrayOid: number;
  readonly parse: (text: string) => unknown;
  // eslint-disable-next-line @typescript-eslint/no-explicit-any -- each type has values of its own
  readonly format: (value: any) => string;
}

const asText = (value: unknown): string => String(value);
const asJson = (value: unknown): string => JSON.stringify(value);
const asInstant = (value: number | Date): string => new Date(value).toISOString();
const asHex = (value: Uint8Array): string => `\\x${Buffer.from(value).toString('hex')}`;
const parseBoolean = (text: string): boolean => text === 't';
const parseHex = (text: string): Buffer => Buffer.from(text.slice(2), 'hex');
const parseJson = (text: string): unknown => JSON.parse(text);
const same = (text: string): string => text;

const elementTypes = {
  bool: { oid: 16, arrayOid: 1000, parse: parseBoolean, format: asText },
  bytea: { oid: 17, arrayOid: 1001, parse: parseHex, format: asHex },
  int8: { oid: 20, arrayOid: 1016, parse: parseInteger, format: asText },
  int2: { oid: 21, arrayOid: 1005, parse: Number, format: asText },
  int4: { oid: 23, arrayOid: 1007, parse: Number, format: asText },
  text: { oid: 25, arrayOid: 1009, parse: same, format: asText },
  float4: { oid: 700, arrayOid: 1021, parse: Number, format: asText },
  float8: { oid: 701, arrayOid: 1022, parse: Number, format: asText },
  varchar: { oid: 1043, arrayOid: 1015, parse: same, format: asText },
  timestamptz: { oid: 1184, arrayOid: 1185, parse: parseInstant, format: asInstant },
  numeric: { oid: 1700, arrayOid: 1231, parse: Number, format: asText },
  uuid: { oid: 2950, arrayOid: 2951, parse: same, format: asText },
  jsonb: { oid: 3802, arrayOid: 3807, parse: parseJson, format: asJson },
} satisfies Record<string, ElementType>;

/**
 * How column values become JavaScript values, and back.
 *
 * - `int8`, `count(*)`: a number; throws UnsafeIntegerError beyond ±(2^53 − 1).
 * - `numeric` (`sum(int8)`, `extract(…)`): the nearest number.
 * - `timestamptz`: epoch milliseconds (microseconds are cut). A number of milliseconds may be bound to
 *   a `timestamptz` parameter, too.
 * - arrays of the types above: arrays, NULL as null.
 *
 * Array types are written down here, because the driver's own look-up fails beyond any catching when
 * its connection is killed meanwhile.
 */
export const valueTypes = Object.fromEntries<postgres.PostgresType>(
  Object.entries<ElementType>(elementTypes).flatMap(([name, type]) => [
    [name, { to: type.oid, from: [type.oid], serialize: type.format, parse: type.parse }],
    [
      `${name}Array`,
      {
        to: type.arrayOid,
        from: [type.arrayOid],
        // A text is taken as an array already written out.
        serialize: (values: NestedArray<unknown> | string) =>
          typeof values === 'string' ? values : formatArray(values, type.format),
        parse: (text: string) => parseArray(text, type.parse),
      },
    ],
  ]),
);

/** The array type of each element type, by object id. */
export const arrayOids: Readonly<Record<number, number>> = Object.fromEntries(
  Object.values(elementTypes).map((type) => [type.oid, type.arrayOid]),
);
