import type { NodeId } from '@duskline/domain';
import { sql as kyselySql, type Kysely } from 'kysely';
import type { Sql } from 'postgres';
import { storableJson, storableText } from './array-literal.ts';
import { instant } from './database/epoch-ms.ts';
import type { Tables } from './schema.ts';
import type { LearntRecord, LearntStore } from './learnt-store.ts';

export function createLearntStore(sql: Sql): LearntStore {
  return {
    async of(node) {
      const [row] = await sql<LearntRecord[]>`
        select learnt_at as "learntAtMs", body from learnt_state
        where node_id = ${node}
        order by learnt_at desc
        limit 1`;
      return row;
    },
    async asOf(node, learntAtMs) {
      const [row] = await sql<LearntRecord[]>`
        select learnt_at as "learntAtMs", body from learnt_state
        where node_id = ${node} and learnt_at = to_timestamp(${learntAtMs}::float8 / 1000)`;
      return row;
    },
    async resets(node) {
      const rows = await sql<ResetRow[]>`
        select part, since_at, reset_at, reset_by, why from learnt_reset
        where node_id = ${node}
        order by reset_at desc, id desc`;
      return rows.map((row) => ({
        part: row.part,
        sinceMs: row.since_at,
        atMs: row.reset_at,
        by: row.reset_by,
        why: row.why,
      }));
    },
    async reset(node, { part, sinceMs, atMs, by, why }, body) {
      // The newest row stands: one written by a look at the same moment must not outlive the reset.
      await sql`
        with noted as (
          insert into learnt_reset (node_id, part, since_at, reset_at, reset_by, why)
          values (
            ${node}, ${part}, to_timestamp(${sinceMs}::float8 / 1000), to_timestamp(${atMs}::float8 / 1000),
            ${storableText(by)}, ${storableText(why)}
          )
        )
        insert into learnt_state (node_id, learnt_at, body)
        values (
          ${node},
          greatest(to_timestamp(${atMs}::float8 / 1000), (
            select max(learnt_at) + interval '1 millisecond' from learnt_state where node_id = ${node}
          )),
          ${storableJson(body)}::text::jsonb
        )`;
    },
  };
}

/**
 * Keeps what a look at a node learnt, if nothing was learnt, or reset, since what it started from.
 *
 * @param from when what it started from was learnt; undefined: nothing was known before
 */
export async function keepLearnt(
  trx: Kysely<Tables>,
  node: NodeId,
  { record, fromMs }: { readonly record: LearntRecord; readonly fromMs?: number },
): Promise<void> {
  await kyselySql`
    insert into learnt_state (node_id, learnt_at, body)
    select ${node}::integer, ${instant(record.learntAtMs)}, ${storableJson(record.body)}::text::jsonb
    where not exists (
      select from learnt_state
      where node_id = ${node} and learnt_at > coalesce(${fromMs === undefined ? null : instant(fromMs)}, '-infinity'::timestamptz)
    )
    on conflict (node_id, learnt_at) do nothing`.execute(trx);
}

interface ResetRow {
  readonly part: string;
  readonly since_at: number;
  readonly reset_at: number;
  readonly reset_by: string;
  readonly why: string;
}
