import type { Sql } from 'postgres';

/**
 * The end of a statement: marks the hours in which limits changed to be tested again. Before it stands a
 * `concerned (node_id, from_at, to_at)` with the nodes and the time of their readings, [from_at, to_at).
 *
 * The pulse is locked first, as the intake does, so that neither waits for the other in a circle.
 */
export const markLimitedHours = (sql: Sql) => sql`
  held as (
    update node_pulse set news_version = news_version + 1, limits_version = limits_version + 1
    where node_id in (select node_id from concerned)
    returning node_id, news_version
  ),
  marked as (
    insert into stale_hour (node_id, hour_start, news_version)
    select distinct held.node_id, rollup_hour.hour_start, held.news_version
    from held
    join concerned using (node_id)
    join rollup_hour on rollup_hour.node_id = held.node_id
      and rollup_hour.hour_start > concerned.from_at - interval '1 hour' and rollup_hour.hour_start < concerned.to_at
    order by 1, 2
    on conflict (node_id, hour_start) do update
      set news_version = greatest(stale_hour.news_version, excluded.news_version)
  )`;
