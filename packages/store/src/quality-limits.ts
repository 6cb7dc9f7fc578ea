import type { LimitOverrides } from '@duskline/domain';
import type { Sql } from 'postgres';
import { storableJson } from './array-literal.ts';
import { markLimitedHours } from './mark-limited-hours.ts';
import type { LimitScope, QualityLimitStore } from './quality-check.ts';

export function createQualityLimitStore(sql: Sql): QualityLimitStore {
  return {
    async find(scope) {
      const [row] = await sql<{ limits: LimitOverrides; setBy: string; setAtMs: number }[]>`
        select limits, set_by as "setBy", set_at as "setAtMs"
        from quality_limits
        where scope = ${scope.kind} and name = ${nameOf(scope)}`;
      return row;
    },
    async inForce(node) {
      const rows = await sql<LimitRow[]>`
        select limits, null::timestamptz as from_at, null::timestamptz as to_at,
          case scope when 'site' then 0 else 1 end as rank, 0::bigint as part_id
        from node
        join quality_limits on (scope = 'site' and quality_limits.name = node.site_id)
          or (scope = 'node' and quality_limits.name = node.name)
        where node.id = ${node}
        union all
        select limits, part.fitted_at, part.removed_at, 2, part.id
        from node
        join part on part.site_id = node.site_id
        join quality_limits on scope = 'part' and quality_limits.name = part.id::text
        where node.id = ${node}
        order by rank, from_at, part_id`;
      return rows.map(({ limits, from_at, to_at }) => ({
        limits,
        ...(from_at === null ? {} : { fromMs: from_at }),
        ...(to_at === null ? {} : { toMs: to_at }),
      }));
    },
    async set(scope, { limits, setBy, setAtMs }) {
      await sql`
        with kept as (
          insert into quality_limits (scope, name, limits, set_by, set_at)
          values (
            ${scope.kind}, ${nameOf(scope)}, ${storableJson(limits)}::text::jsonb, ${setBy},
            to_timestamp(${setAtMs}::float8 / 1000)
          )
          on conflict (scope, name) do update
            set limits = excluded.limits, set_by = excluded.set_by, set_at = excluded.set_at
        ),
        concerned as (${concerned(sql, scope)}),
        ${markLimitedHours(sql)}
        select`;
    },
  };
}

interface LimitRow {
  readonly limits: LimitOverrides;
  readonly from_at: number | null;
  readonly to_at: number | null;
}

const nameOf = (scope: LimitScope): string => (scope.kind === 'part' ? scope.id : scope.name);

/** The nodes, and the time of their readings, for which limits of that scope hold. */
function concerned(sql: Sql, scope: LimitScope) {
  switch (scope.kind) {
    case 'site':
      return always(sql, sql`site_id = ${scope.name}`);
    case 'node':
      return always(sql, sql`name = ${scope.name}`);
    case 'part':
      return sql`
        select node.id as node_id, fitted_at as from_at, coalesce(removed_at, 'infinity') as to_at
        from part
        join node on node.site_id = part.site_id
        where part.id = ${scope.id}::bigint`;
  }
}

const always = (sql: Sql, of: ReturnType<Sql>) => sql`
  select id as node_id, '-infinity'::timestamptz as from_at, 'infinity'::timestamptz as to_at
  from node
  where ${of}`;
