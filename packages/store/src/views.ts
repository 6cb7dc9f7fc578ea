import {
  HOUR_MS,
  nodeId,
  type Alert,
  type ChargeEstimate,
  type DayBalance,
  type NodeState,
  type SiteId,
  type SiteView,
  type StateVerdict,
} from '@duskline/domain';
import type { Selectable } from 'kysely';
import type { Sql } from 'postgres';
import { alertOf, columns, type AlertRow } from './alerts.ts';
import { nodeOf } from './nodes.ts';
import { outlookOf, type OutlookRow } from './outlooks.ts';
import type { Tables } from './schema.ts';
import { siteOf } from './sites.ts';
import type { ViewStore } from './store.ts';

export function createViewStore(sql: Sql): ViewStore {
  return {
    fleet: () => siteViews(sql),
    site: async (siteId) => (await siteViews(sql, [siteId]))[0],
    async ofNode(node) {
      const [row] = await sql<{ site_id: SiteId }[]>`select site_id from node where id = ${node}`;
      return row && (await siteViews(sql, [row.site_id]))[0];
    },
    async ofNodes(nodes) {
      const rows = await sql<{ site_id: SiteId }[]>`
        select distinct site_id from node where id = any(${[...nodes]}::integer[])`;
      return rows.length === 0
        ? []
        : await siteViews(
            sql,
            rows.map((row) => row.site_id),
          );
    },
    weekTraces: (fromMs, toMs, siteIds) => chargeTraces(sql, { fromMs, toMs }, siteIds),
    days: (siteId, fromMs, toMs) => dayBalances(sql, siteId, { fromMs, toMs }),
  };
}

/** All sites, or some: three statements whatever their number. A site shows its newest node that is not retired. */
async function siteViews(
  sql: Sql,
  only: readonly SiteId[] | null = null,
): Promise<readonly SiteView[]> {
  const all = only === null;
  const ids = [...(only ?? [])];
  const [heads, outlooks, alerts] = await Promise.all([
    sql<HeadRow[]>`
      select to_jsonb(site) as site, node.id as node_id, node.name, node.power, node.commissioned_at,
        node.retired_at, node.off_for_work, node.link, node.data_plan, pulse.last_heard_at, pulse.charge,
        coalesce(pulse.view_version, 0) as version,
        open.state, open.from_at, open.cause, open.settled_by, open.evidence
      from site
      left join lateral (
        select * from node
        where node.site_id = site.id
        order by node.retired_at is not null, node.commissioned_at desc, node.id desc
        limit 1
      ) node on true
      left join node_pulse pulse on pulse.node_id = node.id
      left join node_interval open on open.node_id = node.id and open.to_at is null
      where ${all} or site.id = any(${ids}::text[])
      order by site.name, site.id`,
    sql<(OutlookRow & { node_id: number })[]>`
      select node.id as node_id, latest.body, latest.fan
      from node
      cross join lateral (
        select body, fan from outlook
        where outlook.node_id = node.id and not outlook.hindcast
        order by issued_at desc
        limit 1
      ) latest
      where ${all} or node.site_id = any(${ids}::text[])`,
    sql<AlertRow[]>`
      select ${columns(sql)} from alert
      where ended_at is null and (${all} or site_id = any(${ids}::text[]))
      order by priority, opened_at, number`,
  ]);
  const outlookOfNode = new Map(outlooks.map((row) => [row.node_id, row]));
  const alertsOfNode = new Map<number, Alert[]>();
  for (const row of alerts)
    alertsOfNode.set(row.node_id, [...(alertsOfNode.get(row.node_id) ?? []), alertOf(row)]);
  return heads.map((head) => {
    const outlook = outlookOfNode.get(head.node_id ?? 0);
    return {
      ...viewOf(head),
      ...(outlook === undefined ? {} : { outlook: outlookOf(outlook) }),
      alerts: alertsOfNode.get(head.node_id ?? 0) ?? [],
    };
  });
}

type NodeColumns = Selectable<Tables['node']>;

interface HeadRow extends Pick<
  NodeColumns,
  'name' | 'power' | 'commissioned_at' | 'retired_at' | 'off_for_work' | 'link' | 'data_plan'
> {
  readonly site: Selectable<Tables['site']>;
  /** Null: the site has no node; then all but site and version is null. */
  readonly node_id: number | null;
  readonly last_heard_at: number | null;
  readonly charge: ChargeEstimate | null;
  readonly version: number;
  readonly state: NodeState | null;
  readonly from_at: number;
  readonly cause: string;
  readonly settled_by: string | null;
  readonly evidence: readonly string[];
}

function viewOf(head: HeadRow): Omit<SiteView, 'alerts' | 'outlook'> {
  const site = siteOf(head.site);
  if (head.node_id === null) return { site, version: head.version };
  return {
    site,
    node: nodeOf({ ...head, id: nodeId(head.node_id), site_id: site.id }),
    version: head.version,
    ...(head.state === null ? {} : { verdict: verdictOf(head, head.state) }),
    ...(head.charge === null ? {} : { charge: head.charge }),
    ...(head.last_heard_at === null ? {} : { lastHeardAtMs: head.last_heard_at }),
  };
}

const verdictOf = (head: HeadRow, state: NodeState): StateVerdict => ({
  state,
  sinceMs: head.from_at,
  cause: head.cause,
  ...(head.settled_by === null ? {} : { settledBy: head.settled_by }),
  evidence: head.evidence,
});

async function chargeTraces(
  sql: Sql,
  { fromMs, toMs }: { readonly fromMs: number; readonly toMs: number },
  siteIds: readonly SiteId[] | null = null,
): Promise<Map<SiteId, readonly (number | null)[]>> {
  const startMs = Math.floor(fromMs / HOUR_MS) * HOUR_MS;
  const hours = Math.max(0, Math.ceil((toMs - startMs) / HOUR_MS));
  const rows = await sql<{ siteId: SiteId; dayStartMs: number; hours: string }[]>`
    select node.site_id as "siteId", day_start as "dayStartMs", array_to_string(hours, ',', '') as hours
    from charge_day
    join node on node.id = charge_day.node_id
    where day_start > to_timestamp(${startMs}::float8 / 1000) - interval '1 day'
      and day_start < to_timestamp(${startMs + hours * HOUR_MS}::float8 / 1000)
      and (${siteIds === null} or node.site_id = any(${siteIds === null ? [] : [...siteIds]}::text[]))
    order by node.commissioned_at`;
  const traces = new Map<SiteId, (number | null)[]>();
  for (const row of rows) {
    const trace = traces.get(row.siteId) ?? new Array<number | null>(hours).fill(null);
    traces.set(row.siteId, trace);
    const first = (row.dayStartMs - startMs) / HOUR_MS;
    row.hours.split(',').forEach((text, hour) => {
      const place = first + hour;
      if (text !== '' && place >= 0 && place < hours) trace[place] = Number(text) / CHARGE_STEPS;
    });
  }
  return traces;
}

/** Stored in hundredths of a per cent. */
const CHARGE_STEPS = 10_000;

async function dayBalances(
  sql: Sql,
  siteId: SiteId,
  { fromMs, toMs }: { readonly fromMs: number; readonly toMs: number },
): Promise<DayBalance[]> {
  const rows = await sql<DayRow[]>`
    with hour as (
      select solar_day(rollup.hour_start, site.longitude_deg) as day_start, rollup.hour_start,
        max(sum / count) filter (where metric.key = 'panel_w') as panel_w,
        max(sum / count) filter (where metric.key = 'panel_v') as panel_v,
        max(sum / count) filter (where metric.key = 'panel_i') as panel_i,
        max(sum / count) filter (where metric.key = 'load_w') as load_w,
        max(sum / count) filter (where metric.key = 'load_v') as load_v,
        max(sum / count) filter (where metric.key = 'load_i') as load_i,
        max(count) as readings
      from site
      join node on node.site_id = site.id
      join metric on true
      join rollup_hour rollup on rollup.node_id = node.id and rollup.metric_id = metric.id and rollup.quality = 1
        and rollup.hour_start >= to_timestamp(${fromMs}::float8 / 1000)
        and rollup.hour_start < to_timestamp(${toMs}::float8 / 1000) + interval '1 day'
      where site.id = ${siteId}
      group by 1, 2
    ),
    beside as (
      select *,
        case when lag(hour_start) over hours = hour_start - interval '1 hour' then lag(readings) over hours end as before,
        case when lead(hour_start) over hours = hour_start + interval '1 hour' then lead(readings) over hours end as after
      from hour
      window hours as (order by hour_start)
    ),
    -- Where silence begins or ends within an hour, fewer readings came than in the hour beside it; in the midst of others one
    -- fewer is chance.
    heard as (
      select *,
        case when readings >= greatest(before, after) - (before is not null and after is not null)::integer then 1
          else coalesce(readings::float8 / greatest(before, after), 1) end as share
      from beside
    )
    select day_start as "dayStartMs",
      sum(share * coalesce(panel_w, panel_v * panel_i)) as "harvestWh",
      sum(share * coalesce(load_w, load_v * load_i)) as "loadWh",
      sum(share) as "hoursHeard"
    from heard
    where day_start >= to_timestamp(${fromMs}::float8 / 1000) and day_start < to_timestamp(${toMs}::float8 / 1000)
    group by day_start
    order by day_start`;
  return rows.map(({ harvestWh, loadWh, ...day }) => ({
    ...day,
    ...(harvestWh === null ? {} : { harvestWh }),
    ...(loadWh === null ? {} : { loadWh }),
  }));
}

interface DayRow {
  readonly dayStartMs: number;
  /** An hour's mean power times what was heard of the hour. */
  readonly harvestWh: number | null;
  readonly loadWh: number | null;
  readonly hoursHeard: number;
}
