import { DAY_MS } from '@duskline/domain';
import type { Sql } from 'postgres';

/** So long every outlook is kept; of older ones the first of each UTC day, which is the one that scores count. */
const ALL_KEPT_MS = 90 * DAY_MS;
const AT_ONCE = 5000;

/**
 * Thins outlooks older than ninety days to one a day and node, each with what it was made of and how right it was, so that
 * whatever is left can still be made again. One that waits to be graded stays, and so does the newest of a node.
 *
 * @returns how many outlooks went
 */
export async function thinOutlooks(sql: Sql, nowMs: number): Promise<number> {
  const oldMs = nowMs - ALL_KEPT_MS;
  let thinned = 0;
  for (;;) {
    const gone = await sql`
      with ranked as (
        select node_id, issued_at, hindcast,
          row_number() over (partition by node_id, hindcast, date_bin('1 day', issued_at, 'epoch') order by issued_at) as place
        from outlook
        where issued_at < to_timestamp(${oldMs / 1000}::float8)
      ), surplus as (
        select node_id, issued_at, hindcast from ranked
        where place > 1
          and not exists (
            select from outlook_score score
            where score.node_id = ranked.node_id and score.issued_at = ranked.issued_at
              and score.hindcast = ranked.hindcast and due_at is not null
          )
          and exists (
            select from outlook later
            where later.node_id = ranked.node_id and later.issued_at > ranked.issued_at and not later.hindcast
          )
        limit ${AT_ONCE}
      ), inputs as (
        delete from outlook_input using surplus
        where outlook_input.node_id = surplus.node_id and outlook_input.issued_at = surplus.issued_at
          and outlook_input.hindcast = surplus.hindcast
      ), scores as (
        delete from outlook_score using surplus
        where outlook_score.node_id = surplus.node_id and outlook_score.issued_at = surplus.issued_at
          and outlook_score.hindcast = surplus.hindcast
      )
      delete from outlook using surplus
      where outlook.node_id = surplus.node_id and outlook.issued_at = surplus.issued_at
        and outlook.hindcast = surplus.hindcast
      returning 1`;
    thinned += gone.length;
    if (gone.length < AT_ONCE) break;
  }
  if (thinned > 0) await dropWhatNoneIsMadeOf(sql, oldMs);
  return thinned;
}

/** An outlook being made names days that its forerunners of this quarter name too: none of them can go meanwhile. */
async function dropWhatNoneIsMadeOf(sql: Sql, oldMs: number): Promise<void> {
  await sql`
    delete from history_day
    where (node_id, digest) not in (select node_id, unnest(history) from outlook_input)`;
  await sql`
    delete from learnt_state
    where learnt_at < to_timestamp(${oldMs / 1000}::float8)
      and not exists (
        select from outlook_input
        where outlook_input.node_id = learnt_state.node_id and outlook_input.learnt_at = learnt_state.learnt_at
      )
      and exists (
        select from learnt_state later
        where later.node_id = learnt_state.node_id and later.learnt_at > learnt_state.learnt_at
      )`;
}
