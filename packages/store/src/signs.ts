import {
  HOUR_MS,
  metric as entryOf,
  timeQualities,
  type MetricKey,
  type NodeId,
  type NodeState,
  type RuleKey,
} from '@duskline/domain';
import { sql as kyselySql, type Kysely } from 'kysely';
import type { Sql } from 'postgres';
import { arrayLiteral } from './array-literal.ts';
import type { Tables } from './schema.ts';
import type { FleetPulse, SignStore, YieldDay } from './sign-store.ts';

interface Range {
  readonly fromMs: number;
  readonly toMs: number;
}

export function createSignStore(sql: Sql): SignStore {
  return {
    async hours(node, metrics, range) {
      const rows = await hourRows(sql, node, { metrics, range });
      const summed = (key: MetricKey) => entryOf(key).aggregate === 'sum';
      return aligned(rows, metrics, {
        range,
        valueOf: (row) => (summed(row.key) ? row.sum : row.sum / row.count),
      });
    },
    async hourlyLows(node, metric, range) {
      const rows = await hourRows(sql, node, { metrics: [metric], range });
      return aligned(rows, [metric], { range, valueOf: (row) => row.min }).get(metric) ?? [];
    },
    async yields(node, fromDay) {
      const rows = await sql<{ day: number; yield: number }[]>`
        select day, yield from yield_day where node_id = ${node} and day >= ${fromDay}`;
      return new Map(rows.map((row) => [row.day, row.yield]));
    },
    async peerYields(node, fromDay) {
      const rows = await sql<{ day: number; median: number }[]>`
        select day, percentile_cont(0.5) within group (order by yield) as median
        from yield_day
        where day >= ${fromDay} and node_id <> ${node}
        group by day
        having count(*) >= 3`;
      return new Map(rows.map(({ day, median }) => [day, median]));
    },
    async fates(node, sinceMs) {
      return sql<{ metric: MetricKey; count: number; bad: number }[]>`
        select metric.key as metric, sum(count)::float8 as count,
          coalesce(sum(count) filter (where quality in (3, 4)), 0)::float8 as bad
        from rollup_hour
        join metric on metric.id = metric_id
        where node_id = ${node} and hour_start >= to_timestamp(${sinceMs}::float8 / 1000)
        group by metric.key
        order by metric.key`;
    },
    async misdated(name, sinceMs) {
      const [row] = await sql<{ count: number }[]>`
        select coalesce(sum(count), 0)::float8 as count from quarantine
        where node = ${name} and code like 'time%' and last_received_at >= to_timestamp(${sinceMs}::float8 / 1000)`;
      return row?.count ?? 0;
    },
    async sentUnsure(node, sinceMs) {
      const rows = await sql`
        select 1 from sample
        where node_id = ${node} and observed_at >= to_timestamp(${sinceMs}::float8 / 1000) - interval '2 days'
          and received_at >= to_timestamp(${sinceMs}::float8 / 1000)
          and time_quality = ${timeQualities.indexOf('unsure')}
        limit 1`;
      return rows.length > 0;
    },
    async fleet(nowMs) {
      const rows = await sql<FleetRow[]>`
        select node.id as node_id, node.site_id, site.name, node.link, node.power -> 'usualGapS' as gap_s,
          pulse.last_heard_at, pulse.last_observed_at, open.state, latest.issued_at, latest.dark_within_3_days,
          latest.dark_within_7_days, latest.dark_within_14_days,
          array(select rule from alert where alert.node_id = node.id and ended_at is null order by rule) as open_rules,
          exists(
            select from accepted_gap gap
            where gap.site_id = node.site_id and ended_at is null
              and to_timestamp(${nowMs}::float8 / 1000) >= from_at and to_timestamp(${nowMs}::float8 / 1000) < until_at
          ) as accepted
        from node
        join site on site.id = node.site_id
        join node_pulse pulse on pulse.node_id = node.id
        left join node_interval open on open.node_id = node.id and open.to_at is null
        left join lateral (
          select issued_at, dark_within_3_days, dark_within_7_days, dark_within_14_days
          from outlook
          where outlook.node_id = node.id and not hindcast
          order by issued_at desc
          limit 1
        ) latest on true
        where node.retired_at is null
        order by node.id`;
      return rows.map(pulseOf);
    },
  };
}

interface HourRow {
  readonly key: MetricKey;
  readonly place: number;
  readonly count: number;
  readonly sum: number;
  readonly min: number;
}

const hourOf = (ms: number): number => Math.floor(ms / HOUR_MS) * HOUR_MS;
const hoursOf = ({ fromMs, toMs }: Range): number =>
  Math.max(0, Math.ceil((toMs - hourOf(fromMs)) / HOUR_MS));

/** Readings that passed, or were not judged. */
const hourRows = (
  sql: Sql,
  node: NodeId,
  { metrics, range }: { readonly metrics: readonly MetricKey[]; readonly range: Range },
) => sql<HourRow[]>`
  select metric.key, ((extract(epoch from hour_start) * 1000 - ${hourOf(range.fromMs)}) / ${HOUR_MS})::integer as place,
    sum(count)::float8 as count, sum(sum) as sum, min(min) as min
  from metric
  join rollup_hour on node_id = ${node} and metric_id = metric.id
  where metric.key = any(${[...metrics]}::text[]) and quality in (1, 2)
    and hour_start >= to_timestamp(${hourOf(range.fromMs)}::float8 / 1000)
    and hour_start < to_timestamp(${range.toMs}::float8 / 1000)
  group by metric.key, hour_start`;

function aligned(
  rows: readonly HourRow[],
  metrics: readonly MetricKey[],
  { range, valueOf }: { readonly range: Range; readonly valueOf: (row: HourRow) => number },
): Map<MetricKey, (number | null)[]> {
  const hours = hoursOf(range);
  const series = new Map(
    metrics.map((key) => [key, new Array<number | null>(hours).fill(null)] as const),
  );
  for (const row of rows) {
    const values = series.get(row.key);
    if (values !== undefined && row.place >= 0 && row.place < hours)
      values[row.place] = valueOf(row);
  }
  return series;
}

interface FleetRow {
  readonly node_id: NodeId;
  readonly site_id: FleetPulse['siteId'];
  readonly name: string;
  readonly link: string | null;
  readonly gap_s: number;
  readonly last_heard_at: number | null;
  readonly state: NodeState | null;
  readonly issued_at: number | null;
  readonly last_observed_at: number | null;
  readonly dark_within_3_days: number | null;
  readonly dark_within_7_days: number | null;
  readonly dark_within_14_days: number | null;
  readonly open_rules: readonly RuleKey[];
  readonly accepted: boolean;
}

const pulseOf = (row: FleetRow): FleetPulse => ({
  nodeId: row.node_id,
  siteId: row.site_id,
  siteName: row.name,
  usualGapMs: row.gap_s * 1000,
  ...(row.state === null ? {} : { state: row.state }),
  ...(row.link === null ? {} : { link: row.link }),
  ...(row.last_heard_at === null ? {} : { lastHeardAtMs: row.last_heard_at }),
  ...(row.issued_at === null ? {} : { lastOutlookAtMs: row.issued_at }),
  ...(row.last_observed_at === null ? {} : { lastObservedAtMs: row.last_observed_at }),
  ...(row.dark_within_3_days === null ||
  row.dark_within_7_days === null ||
  row.dark_within_14_days === null
    ? {}
    : {
        ahead: {
          darkWithin3DaysProbability: row.dark_within_3_days,
          darkWithin7DaysProbability: row.dark_within_7_days,
          darkWithin14DaysProbability: row.dark_within_14_days,
        },
      }),
  openRules: row.open_rules,
  isAcceptedDark: row.accepted,
});

/** Days already kept are kept anew: late readings change them. */
export async function keepYields(
  trx: Kysely<Tables>,
  node: NodeId,
  days: readonly YieldDay[],
): Promise<void> {
  if (days.length === 0) return;
  await kyselySql`
    insert into yield_day (day, node_id, yield)
    select day, ${node}::integer, yield
    from unnest(
      ${arrayLiteral(days.map(({ day }) => day))}::integer[], ${arrayLiteral(days.map(({ ratio }) => ratio))}::float8[]
    ) given (day, yield)
    on conflict (day, node_id) do update set yield = excluded.yield
      where yield_day.yield <> excluded.yield`.execute(trx);
}
