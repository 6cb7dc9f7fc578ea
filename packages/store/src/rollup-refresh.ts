import { metric, metricKeys, timeQualities, type NodeId } from '@duskline/domain';
import { type Kysely, sql } from 'kysely';
import { arrayLiteral } from './array-literal.ts';
import type { Database } from './database/open-database.ts';
import { checkStaleHours } from './flags.ts';
import type { Layouts } from './layouts.ts';
import type { QualityCheck } from './quality-check.ts';
import { lockRollups } from './rollup-lock.ts';
import type { Tables } from './schema.ts';
import type { StaleHour } from './stale-hour.ts';

/** Hours taken at once: a month, so that catching up on a long past stays one short statement after another. */
const HOURS_AT_ONCE = 744;
/** Where their readings are tested as well: a week, so that they fit into memory however often a node reads. */
const HOURS_TESTED_AT_ONCE = 168;
type Trx = Kysely<Tables>;

/**
 * Tests the readings of the hours that changed, and computes those hours again and the days they belong to.
 *
 * Safe to repeat, to interrupt, and beside `accept` and another refresh: marks are read first, samples after, so
 * every sample behind a mark is seen; a mark renewed meanwhile has another version and stays; and a slow computation
 * never overwrites one that was made from later news. Of one node one is written at a time, each from samples as they stand
 * then: else two would wait for each other's rows, or one would leave a row of a quality that no reading has any more.
 *
 * @param prepare asked for the tests when there is something to test, and again as long as there is: limits may change meanwhile;
 *                without it flags stay as they are
 * @returns hours computed.
 */
export async function refreshRollups(
  database: Database<Tables>,
  layouts: Layouts,
  { node, prepare }: { readonly node: NodeId; readonly prepare?: () => Promise<QualityCheck> },
): Promise<number> {
  const limit = prepare === undefined ? HOURS_AT_ONCE : HOURS_TESTED_AT_ONCE;
  let refreshed = 0;
  for (;;) {
    const marked = await database.sql<(StaleHour & { readonly limitsVersion: number })[]>`
      select hour_start as "startMs", news_version as "newsVersion",
        (select limits_version from node_pulse where node_id = ${node}) as "limitsVersion"
      from stale_hour
      where node_id = ${node}
      order by hour_start
      limit ${limit}`;
    const limitsVersion = marked[0]?.limitsVersion;
    if (limitsVersion === undefined) return refreshed;
    const check = await prepare?.();
    const stale =
      check === undefined
        ? marked
        : await checkStaleHours(database, layouts, { node, check, limitsVersion, limit });
    if (stale === 'limits-changed') continue;
    if (stale.length === 0) return refreshed;
    const circular = await circularIds(layouts);
    await database.transaction(async (trx) => {
      await lockRollups(trx, node);
      await foldHours(trx, { node, stale, circular });
      await sql`
        select refresh_charge_day(${node}::integer, day)
        from (
          select distinct date_bin('1 day', hour_start, 'epoch') from ${staleHours(stale)} hour
        ) touched (day)`.execute(trx);
      await foldDays(trx, node, stale);
    });
    refreshed += stale.length;
    if (marked.length < limit) return refreshed;
  }
}

/** The numbers of the metrics that are directions. */
async function circularIds(layouts: Layouts): Promise<readonly number[]> {
  const ids = await Promise.all(
    metricKeys
      .filter((key) => metric(key).aggregate === 'circular-mean')
      .map((key) => layouts.metricId(key)),
  );
  return ids.filter((id) => id !== undefined);
}

const UNSURE = timeQualities.indexOf('unsure');

/**
 * Hour by hour, so that each is a walk along the key whatever the planner believes of the table. Quality is 1 (passed or not
 * tested), 3 or 4; readings of unsure time are in no hour. Sums go in the order of time, and of two values at one instant
 * the greater is the last, so that the same samples give the same figures to the last bit in whatever order they came.
 */
async function foldHours(
  trx: Trx,
  {
    node,
    stale,
    circular,
  }: {
    readonly node: NodeId;
    readonly stale: readonly StaleHour[];
    readonly circular: readonly number[];
  },
): Promise<void> {
  await sql`
    with fold as materialized (
      select hour.hour_start, hour.news_version, folded.*
      from ${staleHours(stale)} hour
      cross join lateral (
        select reading.metric_id, case when reading.flag in (3, 4) then reading.flag else 1 end as quality,
          count(*), sum(reading.value order by sample.observed_at, reading.value), min(reading.value), max(reading.value),
          (array_agg(reading.value order by sample.observed_at desc, reading.value desc))[1] as last,
          max(sample.observed_at) as last_at,
          sum(sind(reading.value) order by sample.observed_at, reading.value)
            filter (where reading.metric_id = any(${arrayLiteral(circular)}::smallint[])) as east,
          sum(cosd(reading.value) order by sample.observed_at, reading.value)
            filter (where reading.metric_id = any(${arrayLiteral(circular)}::smallint[])) as north
        from sample
        join layout on layout.id = sample.layout_id
        cross join lateral unnest(layout.metric_ids, sample.values, sample.flags) reading (metric_id, value, flag)
        where sample.node_id = ${node}
          and sample.layout_id = any(array(select id from layout))
          and sample.observed_at >= hour.hour_start
          and sample.observed_at < hour.hour_start + interval '1 hour'
          and sample.time_quality is distinct from ${UNSURE}
        group by reading.metric_id, 2
      ) folded
    ),
    ${putInPlace('hour', node)}`.execute(trx);
}

/**
 * A day begins at the whole UTC hour nearest to local mean solar midnight, so that it is made of whole hours; what is
 * off by that lies in the night. The version of a day is the sum of its hours', whatever their quality: it grows whenever
 * one of them does.
 */
async function foldDays(trx: Trx, node: NodeId, stale: readonly StaleHour[]): Promise<void> {
  await sql`
    with hour as materialized (
      select * from ${staleHours(stale)} stale
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
    tardy as (
      insert into tardy_past (node_id, from_at, to_at)
      select ${node}::integer, min(hour_start), max(hour_start) + interval '1 hour'
      from hour
      join node_pulse pulse on pulse.node_id = ${node}
      left join node_interval open on open.node_id = ${node} and open.to_at is null
      where open.from_at is null or hour_start < date_bin('1 hour', open.from_at, 'epoch')
        or open.state not in ('up', 'low') or hour_start < pulse.last_received_at - interval '3 hours'
      having count(*) > 0
      on conflict (node_id) do update
        set from_at = least(tardy_past.from_at, excluded.from_at), to_at = greatest(tardy_past.to_at, excluded.to_at)
    ),
    day as materialized (
      select distinct solar_day(hour_start, site.longitude_deg) as day_start
      from hour
      join node on node.id = ${node}
      join site on site.id = node.site_id
    ),
    fold as materialized (
      select day.day_start, metric.id as metric_id, folded.*
      from day
      cross join metric
      cross join lateral (
        select quality, sum(count) as count, sum(sum order by hour_start) as sum, min(min), max(max),
          (array_agg(last order by last_at desc))[1] as last, max(last_at) as last_at,
          sum(east order by hour_start) as east, sum(north order by hour_start) as north,
          sum(sum(news_version) filter (where foremost)) over () as news_version
        from (
          select *, row_number() over (partition by hour_start order by news_version desc) = 1 as foremost
          from rollup_hour
          where node_id = ${node}
            and metric_id = metric.id
            and hour_start >= day.day_start
            and hour_start < day.day_start + interval '24 hours'
        ) of_day
        group by quality
      ) folded
    ),
    ${putInPlace('day', node)}`.execute(trx);
}

/**
 * The end of a statement that has computed `fold`: it stands for its hours or days from now on. A quality that no reading has
 * any more goes, and nothing takes the place of what was made from later news.
 */
function putInPlace(grain: 'hour' | 'day', node: NodeId) {
  const table = sql.table(`rollup_${grain}`);
  const start = sql.ref(`${grain}_start`);
  return sql`
    emptied as (
      delete from ${table} rollup
      using (select distinct metric_id, ${start}, news_version from fold) made
      where rollup.node_id = ${node} and rollup.metric_id = made.metric_id and rollup.${start} = made.${start}
        and rollup.news_version <= made.news_version
        and not exists (
          select from fold
          where fold.metric_id = rollup.metric_id and fold.${start} = rollup.${start} and fold.quality = rollup.quality
        )
    )
    insert into ${table} (
      node_id, ${start}, metric_id, quality, count, sum, min, max, last, last_at, east, north, news_version
    )
    select ${node}::integer, fold.${start}, fold.metric_id, fold.quality, fold.count, fold.sum, fold.min, fold.max,
      fold.last, fold.last_at, fold.east, fold.north, fold.news_version
    from fold
    order by fold.metric_id, fold.${start}
    on conflict (node_id, metric_id, ${start}, quality) do update set
      count = excluded.count, sum = excluded.sum, min = excluded.min, max = excluded.max,
      last = excluded.last, last_at = excluded.last_at, east = excluded.east, north = excluded.north,
      news_version = excluded.news_version
    where ${table}.news_version <= excluded.news_version`;
}

const staleHours = (stale: readonly StaleHour[]) => sql`(
  select to_timestamp(start_ms / 1000) as hour_start, news_version
  from unnest(
    ${arrayLiteral(stale.map((hour) => hour.startMs))}::float8[],
    ${arrayLiteral(stale.map((hour) => hour.newsVersion))}::bigint[]
  ) given (start_ms, news_version)
)`;
