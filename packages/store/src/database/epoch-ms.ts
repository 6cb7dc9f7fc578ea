import { sql, type Expression, type RawBuilder } from 'kysely';

/**
 * SQL for a `timestamptz` as epoch milliseconds.
 *
 * @param column an expression of type `timestamptz`, as `sql.ref('observed_at')`.
 * @returns an expression of type `float8`: milliseconds since 1970, with the microseconds as fraction.
 */
export function epochMs(column: Expression<unknown>): RawBuilder<number> {
  return sql<number>`(extract(epoch from ${column}) * 1000)::float8`;
}

/**
 * SQL for epoch milliseconds as a `timestamptz`.
 *
 * @param valueMs milliseconds since 1970, finite.
 * @returns an expression of type `timestamptz`.
 */
export function instant(valueMs: number): RawBuilder<number> {
  return sql<number>`to_timestamp(${valueMs}::float8 / 1000)`;
}
