import type { NodeId } from '@duskline/domain';
import type { Sql } from 'postgres';
import { arrayLiteral } from './array-literal.ts';

/** Hours taken at once: a month, so that catching up on a long past stays one short statement after another. */
const HOURS_AT_ONCE = 744;

interface StaleHour {
  readonly startMs: number;
  readonly newsVersion: number;
}

/**
 * Computes again the hours whose samples changed, and the days they belong to.
 *
 * Safe to repeat, to interrupt, and beside `accept` and another refresh: marks are read first, samples after, so
 * every sample behind a mark is seen; a mark renewed meanwhile has another version and stays; and a slow computation
 * never overwrites one that was made from later news.
 *
 * @returns hours computed.
 */
export async function refreshRollups(sql: Sql, node: NodeId): Promise<number> {
  let refreshed = 0;
  for (;;) {
    const stale = await sql<StaleHour[]>`
      select hour_start as "startMs", news_version as "newsVersion"
      from stale_hour
      where node_id = ${node}
      order by hour_start
      limit ${HOURS_AT_ONCE}`;
    if (stale.length === 0) return refreshed;
    await foldHours(sql, node, stale);
    await sql`
      select refresh_charge_day(${node}::integer, day)
      from (select distinct date_bin('1 day', hour_start, 'epoch') from ${staleHours(sql, stale)} hour) touched (day)`;
    await foldDays(sql, node, stale);
    refreshed += stale.length;
    if (stale.length < HOURS_AT_ONCE) return refreshed;
  }
}

/** Hour by hour, so that each is a walk along the key whatever the planner believes of the table. */
async function foldHours(sql: Sql, node: NodeId, stale: readonly StaleHour[]): Promise<void> {
  await sql`
    insert into rollup_hour (
      node_id, hour_start, news_version, metric_id, quality, count, sum, min, max, last, last_at
    )
    select ${node}::integer, hour.hour_start, hour.news_version, fold.*
    from ${staleHours(sql, stale)} hour
    cross join lateral (
      select reading.metric_id, coalesce(reading.flag, 1) as quality,
        count(*), sum(reading.value), min(reading.value), max(reading.value),
        (array_agg(reading.value order by sample.observed_at desc, sample.layout_id))[1],
        max(sample.observed_at)
      from sample
      join layout on layout.id = sample.layout_id
      cross join lateral unnest(layout.metric_ids, sample.values, sample.flags) reading (metric_id, value, flag)
      where sample.node_id = ${node}
        and sample.observed_at >= hour.hour_start
        and sample.observed_at < hour.hour_start + interval '1 hour'
      group by reading.metric_id, coalesce(reading.flag, 1)
    ) fold
    order by fold.metric_id, hour.hour_start
    on conflict (node_id, metric_id, hour_start, quality) do update set
      count = excluded.count, sum = excluded.sum, min = excluded.min, max = excluded.max,
      last = excluded.last, last_at = excluded.last_at, news_version = excluded.news_version
    where rollup_hour.news_version <= excluded.news_version`;
}

/**
 * A day begins at the whole UTC hour nearest to local mean solar midnight, so that it is made of whole hours; what is
 * off by that lies in the night. The version of a day is the sum of its hours': it grows whenever one of them does.
 */
async function foldDays(sql: Sql, node: NodeId, stale: readonly StaleHour[]): Promise<void> {
  await sql`
    with hour as materialized (
      select * from ${staleHours(sql, stale)} stale
    ),
    done as (
      delete from stale_hour
      using (
        select hour_start
        from stale_hour join hour using (hour_start, news_version)
        where node_id = ${node}
        order by hour_start
        for update of stale_hour
      ) unchanged
      where stale_hour.node_id = ${node} and stale_hour.hour_start = unchanged.hour_start
    ),
    day as materialized (
      select distinct solar_day(hour_start, site.longitude_deg) as day_start
      from hour
      join node on node.id = ${node}
      join site on site.id = node.site_id
    )
    insert into rollup_day (
      node_id, day_start, metric_id, quality, count, sum, min, max, last, last_at, news_version
    )
    select ${node}::integer, day.day_start, metric.id, fold.*
    from day
    cross join metric
    cross join lateral (
      select quality, sum(count), sum(sum), min(min), max(max),
        (array_agg(last order by last_at desc))[1], max(last_at), sum(news_version)
      from rollup_hour
      where node_id = ${node}
        and metric_id = metric.id
        and hour_start >= day.day_start
        and hour_start < day.day_start + interval '24 hours'
      group by quality
    ) fold
    order by metric.id, day.day_start
    on conflict (node_id, metric_id, day_start, quality) do update set
      count = excluded.count, sum = excluded.sum, min = excluded.min, max = excluded.max,
      last = excluded.last, last_at = excluded.last_at, news_version = excluded.news_version
    where rollup_day.news_version <= excluded.news_version`;
}

const staleHours = (sql: Sql, stale: readonly StaleHour[]) => sql`(
  select to_timestamp(start_ms / 1000) as hour_start, news_version
  from unnest(
    ${arrayLiteral(stale.map((hour) => hour.startMs))}::float8[],
    ${arrayLiteral(stale.map((hour) => hour.newsVersion))}::bigint[]
  ) given (start_ms, news_version)
)`;
