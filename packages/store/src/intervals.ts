import type { NodeId, NodeState, StateVerdict } from '@duskline/domain';
import { sql as kyselySql, type Kysely } from 'kysely';
import type { Sql } from 'postgres';
import { storableJson } from './array-literal.ts';
import { instant } from './database/epoch-ms.ts';
import { intervalOf, type IntervalRow } from './interval-row.ts';
import type { Layouts } from './layouts.ts';
import { findTardyPast } from './past.ts';
import type { Tables } from './schema.ts';
import type { Store } from './store.ts';

export function createIntervalStore(sql: Sql, layouts: Layouts): Store['intervals'] {
  return {
    tardyPast: (node, longestGapMs) => findTardyPast(sql, layouts, { node, longestGapMs }),
    async list(node, fromMs, toMs) {
      const rows = await sql<IntervalRow[]>`
        select state, from_at, to_at, cause, evidence
        from node_interval
        where node_id = ${node}
          and from_at < to_timestamp(${toMs}::float8 / 1000)
          and (to_at is null or to_at > to_timestamp(${fromMs}::float8 / 1000))
        order by from_at`;
      return rows.map(intervalOf);
    },
  };
}

/**
 * Writes a verdict into the row of intervals, which stays without gap or overlap: the same state only gets its reasons
 * anew; another one begins when the verdict says, but never before the present interval began nor after now. What is closed keeps
 * the words that hold afterwards: what was true "now" is not true of it for ever.
 */
export async function keepInterval(
  trx: Kysely<Tables>,
  node: NodeId,
  { verdict, nowMs }: { readonly verdict: StateVerdict; readonly nowMs: number },
): Promise<void> {
  const evidence = storableJson(verdict.evidence);
  const settledBy = verdict.settledBy ?? null;
  const afterwards = verdict.afterwards ?? null;
  const since = instant(Math.min(verdict.sinceMs, nowMs));
  const { rows } = await kyselySql<{ state: NodeState; begins: number; inPlace: boolean }>`
    select state, greatest(from_at, ${since}) as begins, from_at >= ${since} as "inPlace"
    from node_interval
    where node_id = ${node} and to_at is null`.execute(trx);
  const [open] = rows;
  if (open !== undefined && (open.inPlace || open.state === verdict.state)) {
    await kyselySql`
      update node_interval
      set state = ${verdict.state}, cause = ${verdict.cause}, afterwards = ${afterwards}, settled_by = ${settledBy},
        evidence = ${evidence}::text::jsonb,
        -- The first of all reaches back as far as the node's past turns out to.
        from_at = case
          when exists (select from node_interval earlier where earlier.node_id = ${node} and earlier.to_at is not null)
          then from_at else least(from_at, ${since}) end
      where node_id = ${node} and to_at is null`.execute(trx);
    return;
  }
  await kyselySql`
    with closed as (
      update node_interval set to_at = ${since}, cause = coalesce(afterwards, cause), afterwards = null
      where node_id = ${node} and to_at is null
      returning from_at
    )
    insert into node_interval (node_id, from_at, state, cause, afterwards, settled_by, evidence)
    select ${node}::integer, ${since}, ${verdict.state}, ${verdict.cause}, ${afterwards}::text, ${settledBy}, ${evidence}::text::jsonb
    from (select count(*) from closed) as after_closing`.execute(trx);
}
