import { metricOf, type NodeId } from '@duskline/domain';
import type { Sql } from 'postgres';
import { arrayLiteral } from './array-literal.ts';
import { withoutGaps } from './database/driver-query.ts';
import { createExportJobStore } from './export-jobs.ts';
import type { ExportOutlook, ExportRange, ExportSample, ExportStore } from './export-store.ts';

export function createExportStore(sql: Sql): ExportStore {
  return {
    async layouts() {
      const rows = await sql<{ id: number; keys: string[] }[]>`
        select layout.id, array_agg(coalesce(metric.key, '') order by place) as keys
        from layout
        cross join unnest(layout.metric_ids) with ordinality as entry (metric_id, place)
        left join metric on metric.id = entry.metric_id
        group by layout.id`;
      return new Map(rows.map(({ id, keys }) => [id, keys.map(metricOf)]));
    },
    async counts(node, range) {
      return await sql<{ layoutId: number; samples: number }[]>`
        select layout_id as "layoutId", count(*) as samples
        from sample
        where ${within(sql, node, range)} and layout_id = any(array(select id from layout))
        group by layout_id
        order by layout_id`;
    },
    async estimate(nodes, metrics, range) {
      const { fromMs, toMs, flags, intervalS = 3600, civil = false } = range;
      const keys = metrics === undefined ? null : [...metrics];
      // What is not tested yet lies with what passed.
      const qualities = [...new Set(flags.map((flag) => (flag === 2 ? 1 : flag)))];
      const rows = await sql<{ key: string; readings: number; intervals: number }[]>`
        with hour as (
          select metric.key, rollup.node_id, sum(rollup.count) as readings, case when ${civil}::boolean
              then date_trunc('day', rollup.hour_start, site.time_zone)
              else date_bin(greatest(${intervalS}::float8, 3600) * interval '1 second', rollup.hour_start, 'epoch')
            end as start
          from rollup_hour rollup
          join metric on metric.id = rollup.metric_id
          join node on node.id = rollup.node_id
          join site on site.id = node.site_id
          where rollup.node_id = any(${arrayLiteral(nodes)}::integer[])
            and rollup.quality = any(${arrayLiteral(qualities)}::smallint[])
            and hour_start >= date_bin('1 hour', to_timestamp(${fromMs}::float8 / 1000), 'epoch')
            and hour_start < to_timestamp(${toMs}::float8 / 1000)
            and (${keys}::text[] is null or metric.key = any(${keys}::text[]))
          group by metric.key, rollup.node_id, site.time_zone, rollup.hour_start
        )
        select key, sum(readings) as readings, case when ${intervalS}::float8 < 3600
            then sum(least(readings, 3600 / ${intervalS}::float8))
            else count(distinct (node_id, start)) end as intervals
        from hour
        group by key`;
      return rows.flatMap(({ key, readings, intervals }) => {
        const metric = metricOf(key);
        return metric === undefined ? [] : [{ metric, readings, intervals }];
      });
    },
    samples: (node, range, options) => streamSamples(sql, node, range, options),
    async outlooks(nodes, { fromMs, toMs, limit }) {
      return await sql<ExportOutlook[]>`
        select node_id as "nodeId", issued_at as "issuedAtMs", hindcast, dark, kind, horizon_days as "horizonDays",
          p10_days as "p10Days", p50_days as "p50Days", p90_days as "p90Days",
          dark_within_3_days as "darkWithin3Days", dark_within_7_days as "darkWithin7Days",
          dark_within_14_days as "darkWithin14Days", model
        from outlook
        where node_id = any(${arrayLiteral(nodes)}::integer[])
          and issued_at >= to_timestamp(${fromMs}::float8 / 1000)
          and issued_at < to_timestamp(${toMs}::float8 / 1000)
        order by node_id, issued_at, hindcast
        limit ${limit}`;
    },
    jobs: createExportJobStore(sql),
  };
}

const within = (sql: Sql, node: NodeId, { fromMs, toMs, receivedByMs }: ExportRange) => sql`
  sample.node_id = ${node}
  and sample.observed_at >= to_timestamp(${fromMs}::float8 / 1000)
  and sample.observed_at < to_timestamp(${toMs}::float8 / 1000)
  and sample.received_at <= to_timestamp(${receivedByMs}::float8 / 1000)`;

async function layoutsWithin(sql: Sql, node: NodeId, range: ExportRange): Promise<number[]> {
  const rows = await sql<{ id: number }[]>`
    select id from layout
    where exists (select from sample where ${within(sql, node, range)} and sample.layout_id = layout.id)
    order by id`;
  return rows.map(({ id }) => id);
}

/** The driver answers at once, and with no promise, when the statement ended while its last page was being read. */
const turned = async <T>(pages: AsyncIterator<T>): Promise<IteratorResult<T>> => pages.next();

/** One page is asked for while the last is written out. */
async function* streamSamples(
  sql: Sql,
  node: NodeId,
  range: ExportRange,
  { pageRows, signal }: { readonly pageRows: number; readonly signal: AbortSignal },
): AsyncGenerator<readonly ExportSample[]> {
  signal.throwIfAborted();
  const layoutIds = await layoutsWithin(sql, node, range);
  // Of one layout the key has the samples in order of time; several are sorted by the database, on its disk if need be.
  const layout =
    layoutIds.length === 1
      ? sql`sample.layout_id = ${layoutIds[0] ?? 0}`
      : sql`sample.layout_id = any(${arrayLiteral(layoutIds)}::integer[])`;
  const query = sql<ExportSample[]>`
    select sample.observed_at::text as at, sample.received_at::text as received, sample.layout_id as "layoutId",
      sample.time_quality as "timeQuality", sample.values::text as values, sample.flags::text as flags,
      note.tests::text as tests, stale_hour.node_id is not null as stale, sample.card_import_id is not null as card
    from sample
    left join sample_note note on note.node_id = sample.node_id and note.observed_at = sample.observed_at
      and note.layout_id = sample.layout_id
    left join stale_hour on stale_hour.node_id = sample.node_id
      and stale_hour.hour_start = date_bin('1 hour', sample.observed_at, 'epoch')
    where ${within(sql, node, range)} and ${layout}
    order by sample.observed_at, sample.layout_id`;
  const pages = query.cursor(pageRows)[Symbol.asyncIterator]();
  let next: Promise<IteratorResult<ExportSample[]>> | undefined;
  try {
    for (;;) {
      next ??= turned(pages);
      const page = await next;
      next = undefined;
      if (page.done === true) return;
      next = turned(pages);
      next.catch(() => undefined);
      // After a statement that failed half-way its connection begins the next page with holes.
      yield withoutGaps(page.value);
      signal.throwIfAborted();
    }
  } finally {
    // The driver closes a cursor only between two pages. To cancel the page is no way out: a cancellation goes to whatever
    // the connection runs when it arrives, which may be somebody else's statement by then. A page takes some milliseconds.
    await next?.catch(() => undefined);
    await pages.return?.();
  }
}
