import type { LimitOverrides } from '@duskline/domain';
import type { Sql } from 'postgres';
import { storableJson } from './array-literal.ts';
import type { QualityLimitStore } from './quality-check.ts';

export function createQualityLimitStore(sql: Sql): QualityLimitStore {
  return {
    async find({ kind, name }) {
      const [row] = await sql<{ limits: LimitOverrides; setBy: string; setAtMs: number }[]>`
        select limits, set_by as "setBy", set_at as "setAtMs"
        from quality_limits
        where scope = ${kind} and name = ${name}`;
      return row;
    },
    async inForce(node) {
      const rows = await sql<{ limits: LimitOverrides }[]>`
        select limits
        from node
        join quality_limits on (scope = 'site' and quality_limits.name = node.site_id)
          or (scope = 'node' and quality_limits.name = node.name)
        where node.id = ${node}
        order by scope = 'node'`;
      return rows.map((row) => row.limits);
    },
    async set({ kind, name }, { limits, setBy, setAtMs }) {
      // The pulse is locked first, as the intake does, so that neither waits for the other in a circle.
      await sql`
        with kept as (
          insert into quality_limits (scope, name, limits, set_by, set_at)
          values (${kind}, ${name}, ${storableJson(limits)}::text::jsonb, ${setBy}, to_timestamp(${setAtMs}::float8 / 1000))
          on conflict (scope, name) do update
            set limits = excluded.limits, set_by = excluded.set_by, set_at = excluded.set_at
        ),
        held as (
          update node_pulse set news_version = news_version + 1
          where node_id in (
            select id from node where (${kind} = 'site' and site_id = ${name}) or (${kind} = 'node' and node.name = ${name})
          )
          returning node_id, news_version
        )
        insert into stale_hour (node_id, hour_start, news_version)
        select distinct held.node_id, rollup_hour.hour_start, held.news_version
        from held
        join rollup_hour on rollup_hour.node_id = held.node_id
        order by 1, 2
        on conflict (node_id, hour_start) do update
          set news_version = greatest(stale_hour.news_version, excluded.news_version)`;
    },
  };
}
