import { timeQualities, type NodeId, type NodeInterval } from '@duskline/domain';
import { sql as kyselySql, type Kysely } from 'kysely';
import type { Sql } from 'postgres';
import { arrayLiteral, storableJson } from './array-literal.ts';
import { epochMs, instant } from './database/epoch-ms.ts';
import { intervalOf, type IntervalRow } from './interval-row.ts';
import type { Layouts } from './layouts.ts';
import { placePast, type PlacedPast } from './place-past.ts';
import type { Tables } from './schema.ts';

/** A stretch of a node's past whose readings came in late, with the holes that are left in it. */
export interface TardyPast {
  readonly fromMs: number;
  readonly toMs: number;
  readonly gaps: readonly {
    readonly fromMs: number;
    readonly toMs: number;
    readonly chargeBeforeRatio?: number;
    readonly uptimeAfterMs?: number;
    readonly unsureReadings: number;
  }[];
  /** The intervals that were written before, by time. */
  readonly judged: readonly NodeInterval[];
  /** The mark that asked for it, to be taken away once the intervals are kept. */
  readonly mark: { readonly fromMs: number; readonly toMs: number };
}

/** Intervals to put in place of what was written of that stretch; without gap or overlap. */
export interface ToldPast {
  readonly mark: TardyPast['mark'];
  readonly intervals: readonly NodeInterval[];
}

const UNSURE = timeQualities.indexOf('unsure');

/**
 * The stretch that late readings ask to be told anew, from the reading before it to the one after it.
 *
 * @param longestGapMs a longer hole is a silence
 * @returns undefined when nothing of the past changed
 */
export async function findTardyPast(
  sql: Sql,
  layouts: Layouts,
  { node, longestGapMs }: { readonly node: NodeId; readonly longestGapMs: number },
): Promise<TardyPast | undefined> {
  const [stretch] = await sql<
    { markFromMs: number; markToMs: number; fromMs: number | null; toMs: number | null }[]
  >`
    select past.from_at as "markFromMs", past.to_at as "markToMs",
      coalesce(
        (select max(found.observed_at) from layout cross join lateral (
          select max(observed_at) as observed_at from sample
          where node_id = past.node_id and layout_id = layout.id and observed_at < past.from_at
            and time_quality is distinct from ${UNSURE}
        ) found),
        (select min(found.observed_at) from layout cross join lateral (
          select min(observed_at) as observed_at from sample
          where node_id = past.node_id and layout_id = layout.id and observed_at >= past.from_at
            and time_quality is distinct from ${UNSURE}
        ) found)
      ) as "fromMs",
      coalesce(
        (select min(found.observed_at) from layout cross join lateral (
          select min(observed_at) as observed_at from sample
          where node_id = past.node_id and layout_id = layout.id and observed_at >= past.to_at
            and time_quality is distinct from ${UNSURE}
        ) found),
        (select max(found.observed_at) from layout cross join lateral (
          select max(observed_at) as observed_at from sample
          where node_id = past.node_id and layout_id = layout.id and observed_at < past.to_at
            and time_quality is distinct from ${UNSURE}
        ) found)
      ) as "toMs"
    from tardy_past past
    where node_id = ${node}`;
  if (stretch === undefined) return undefined;
  const mark = { fromMs: stretch.markFromMs, toMs: stretch.markToMs };
  const { fromMs, toMs } = stretch;
  // Only readings whose time cannot be trusted: nothing to tell.
  if (fromMs === null || toMs === null || toMs <= fromMs)
    return { fromMs: mark.fromMs, toMs: mark.fromMs, gaps: [], judged: [], mark };
  const [gaps, judged] = await Promise.all([
    findGaps(sql, layouts, { node, fromMs, toMs, longestGapMs }),
    sql<IntervalRow[]>`
      select state, from_at, to_at, coalesce(afterwards, cause) as cause, evidence from node_interval
      where node_id = ${node} and from_at < to_timestamp(${toMs}::float8 / 1000)
        and (to_at is null or to_at > to_timestamp(${fromMs}::float8 / 1000))
      order by from_at`,
  ]);
  return { fromMs, toMs, gaps, judged: judged.map(intervalOf), mark };
}

interface GapRow {
  readonly fromMs: number;
  readonly toMs: number;
  readonly chargePct: number | null;
  readonly uptimeS: number | null;
  readonly unsure: number;
}

async function findGaps(
  sql: Sql,
  layouts: Layouts,
  range: {
    readonly node: NodeId;
    readonly fromMs: number;
    readonly toMs: number;
    readonly longestGapMs: number;
  },
): Promise<TardyPast['gaps']> {
  const { node, fromMs, toMs, longestGapMs } = range;
  const chargeId = (await layouts.metricId('charge')) ?? null;
  const uptimeId = (await layouts.metricId('uptime')) ?? null;
  const rows = await sql<GapRow[]>`
    with told as (
      select observed_at, lag(observed_at) over (order by observed_at) as before
      from sample
      where node_id = ${node} and layout_id = any(array(select id from layout)) and time_quality is distinct from ${UNSURE}
        and observed_at >= to_timestamp(${fromMs}::float8 / 1000) and observed_at <= to_timestamp(${toMs}::float8 / 1000)
    ),
    gap as materialized (
      select before as from_at, observed_at as to_at from told
      where observed_at - before > ${longestGapMs}::float8 / 1000 * interval '1 second'
    )
    select gap.from_at as "fromMs", gap.to_at as "toMs", (
        select sample.values[array_position(metric_ids, ${chargeId}::smallint)]
        from sample join layout on layout.id = layout_id
        where node_id = ${node} and observed_at between gap.from_at - interval '1 hour' and gap.from_at
          and layout_id = any(array(select id from layout where metric_ids @> array[${chargeId}::smallint])) and time_quality is distinct from ${UNSURE}
        order by observed_at desc
        limit 1
      ) as "chargePct", (
        select sample.values[array_position(metric_ids, ${uptimeId}::smallint)]
          - extract(epoch from observed_at - gap.to_at)::float8
        from sample join layout on layout.id = layout_id
        where node_id = ${node} and observed_at between gap.to_at and gap.to_at + interval '1 hour'
          and layout_id = any(array(select id from layout where metric_ids @> array[${uptimeId}::smallint])) and time_quality is distinct from ${UNSURE}
        order by observed_at
        limit 1
      ) as "uptimeS", (
        select count(*) from sample
        where node_id = ${node} and layout_id = any(array(select id from layout))
          and observed_at between gap.from_at and gap.to_at and time_quality = ${UNSURE}
      ) as unsure
    from gap
    order by gap.from_at`;
  return rows.map(({ chargePct, uptimeS, unsure, ...gap }) => ({
    ...gap,
    ...(chargePct === null ? {} : { chargeBeforeRatio: chargePct / 100 }),
    ...(uptimeS === null ? {} : { uptimeAfterMs: Math.max(0, uptimeS) * 1000 }),
    unsureReadings: unsure,
  }));
}

/** Puts a told past into the row of intervals, which stays without gap or overlap. */
export async function keepPast(
  trx: Kysely<Tables>,
  node: NodeId,
  { mark, intervals }: ToldPast,
): Promise<void> {
  await kyselySql`
    delete from tardy_past
    where node_id = ${node} and from_at = ${instant(mark.fromMs)} and to_at = ${instant(mark.toMs)}`.execute(
    trx,
  );
  const fromMs = intervals[0]?.fromMs;
  const toMs = intervals.at(-1)?.toMs;
  if (fromMs === undefined || toMs === undefined) return;
  const { rows } = await kyselySql<IntervalRow>`
    select state, coalesce(afterwards, cause) as cause, evidence, ${epochMs(kyselySql.ref('from_at'))} as from_at, ${epochMs(kyselySql.ref('to_at'))} as to_at
    from node_interval
    where node_id = ${node} and (to_at is null or (to_at >= ${instant(fromMs)} and from_at <= ${instant(toMs)}))
    order by from_at`.execute(trx);
  const open = rows.find(({ to_at }) => to_at === null);
  if (open === undefined) return;
  await replace(trx, node, { rows, open, placed: placePast(rows, open, intervals) });
}

async function replace(
  trx: Kysely<Tables>,
  node: NodeId,
  {
    rows,
    open,
    placed,
  }: {
    readonly rows: readonly IntervalRow[];
    readonly open: IntervalRow;
    readonly placed: PlacedPast;
  },
): Promise<void> {
  const gone = rows.filter((row) => row !== open).map((row) => row.from_at);
  await kyselySql`
    delete from node_interval
    where node_id = ${node} and to_at is not null
      and from_at in (select to_timestamp(ms / 1000) from unnest(${arrayLiteral(gone)}::float8[]) gone (ms))`.execute(
    trx,
  );
  if (placed.openFromMs !== open.from_at)
    await kyselySql`
      update node_interval set from_at = ${instant(placed.openFromMs)}
      where node_id = ${node} and to_at is null`.execute(trx);
  const { closed } = placed;
  await kyselySql`
    insert into node_interval (node_id, from_at, to_at, state, cause, evidence)
    select ${node}::integer, to_timestamp(from_ms / 1000), to_timestamp(to_ms / 1000), state, cause, evidence::jsonb
    from unnest(
      ${arrayLiteral(closed.map((one) => one.from_at))}::float8[], ${arrayLiteral(closed.map((one) => one.to_at))}::float8[],
      ${closed.map((one) => one.state)}::text[], ${closed.map((one) => one.cause)}::text[],
      ${closed.map((one) => storableJson(one.evidence))}::text[]
    ) told (from_ms, to_ms, state, cause, evidence)`.execute(trx);
}
