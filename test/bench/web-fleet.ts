import {
  metricKeys,
  type MetricKey,
  type NodeId,
  type NodeName,
  type SiteId,
} from '@duskline/domain';
import { migrateStore, openStore, type Store } from '@duskline/store';
import postgres from 'postgres';

export interface WebFleet {
  /** Site whose node read every 30 s, a million samples long. */
  readonly longSite: string;
  readonly longSamples: number;
}

const HOUR_MS = 3_600_000;
const DAYS = 40;
/** In the order of a layout: by name. */
const METRICS: readonly MetricKey[] = [...metricKeys]
  .filter((key) => ['air_temp', 'batt_v', 'charge', 'load_w', 'panel_w'].includes(key))
  .sort();
const LONG_GAP_S = 30;

/**
 * A fleet put straight into the tables: hours of forty days for every node, so that the server itself makes outlooks of
 * them, and a million samples of one node.
 */
export async function fillWebFleet(
  url: string,
  sites: number,
  longSamples: number,
): Promise<WebFleet> {
  await migrateStore(url);
  const store = await openStore({ url });
  const sql = postgres(url, { max: 1, onnotice: () => undefined });
  try {
    const nowMs = Date.now();
    const ids: NodeId[] = [];
    for (let i = 0; i < sites; i++) ids.push(await makeSite(store, i, nowMs));
    await store.samples.accept(
      ids.map((_id, i) => ({
        node: nameOf(i),
        lane: 'live' as const,
        receivedAtMs: nowMs,
        samples: [
          {
            observedAtMs: nowMs,
            metrics: METRICS,
            values: METRICS.map(() => 5),
            timeQuality: 'synced' as const,
          },
        ],
      })),
    );
    const hourMs = Math.floor(nowMs / HOUR_MS) * HOUR_MS;
    await fillHours(sql, ids, hourMs);
    await fillSamples(sql, ids[0] as NodeId, hourMs, longSamples);
    await sql`update node_pulse set first_heard_at = ${new Date(hourMs - DAYS * 24 * HOUR_MS)}`;
    await sql`vacuum analyze`;
    return { longSite: siteOf(0), longSamples };
  } finally {
    await sql.end();
    await store.close();
  }
}

const siteOf = (i: number) => `moor-${String(i).padStart(4, '0')}` as SiteId;
const nameOf = (i: number) => `moor-${String(i).padStart(4, '0')}-1` as NodeName;

async function makeSite(store: Store, i: number, nowMs: number): Promise<NodeId> {
  await store.sites.create({
    id: siteOf(i),
    name: `Moor ${i}`,
    position: { latitudeDeg: 54.5 + (i % 20) / 40, longitudeDeg: -2.9 + i / 500, elevationM: 300 },
    timeZone: 'Europe/London',
    access: '',
    hazards: '',
  });
  const node = await store.nodes.create(
    {
      name: nameOf(i),
      siteId: siteOf(i),
      commissionedAtMs: nowMs - DAYS * 24 * HOUR_MS,
      power: {
        panel: { ratedW: 20, tiltDeg: 65, azimuthDeg: 180 },
        battery: { chemistry: 'lifepo4', ratedWh: 150, seriesCells: 4 },
        charger: 'mppt',
        shutDownRatio: 0.1,
        restartRatio: 0.5,
        offStateDrawW: 0.1,
        usualGapS: i === 0 ? LONG_GAP_S : 3600,
      },
    },
    new Uint8Array(32),
  );
  return node.id;
}

/** A short sun at noon; every fifth node runs down, the others hold. */
async function fillHours(sql: postgres.Sql, ids: readonly NodeId[], hourMs: number): Promise<void> {
  await sql`
    insert into rollup_hour (node_id, metric_id, quality, count, hour_start, sum, min, max, last, last_at, news_version)
    select node, metric.id, 1, 1, at, v, v, v, v, at, 1
    from unnest(${ids}::int[]) with ordinality fleet (node, place),
      generate_series(${new Date(hourMs - DAYS * 24 * HOUR_MS)}::timestamptz, ${new Date(hourMs)}::timestamptz, interval '1 hour') at,
      lateral (select extract(epoch from (${new Date(hourMs)}::timestamptz - at)) / 86400 as ago,
        greatest(0, sin((extract(hour from at) - 9) / 6 * pi())) * (extract(hour from at) between 9 and 15)::int as sun) t,
      metric,
      lateral (select case metric.key
        when 'panel_w' then sun * (4 + place % 5)
        when 'load_w' then 0.6
        when 'charge' then least(100, greatest(6, case place % 5 when 0 then 14 + ago * 3 else 60 + place % 30 + 3 * sun end))
        when 'batt_v' then 12.8 + 0.4 * sun
        else 6 + 3 * sun end as v) w
    where metric.key = any(${[...METRICS]}::text[])`;
  await sql`
    select refresh_charge_day(node, day)
    from unnest(${ids}::int[]) node,
      generate_series(date_trunc('day', ${new Date(hourMs - 9 * 24 * HOUR_MS)}::timestamptz at time zone 'UTC') at time zone 'UTC',
        ${new Date(hourMs)}::timestamptz, interval '1 day') day`;
}

async function fillSamples(
  sql: postgres.Sql,
  node: NodeId,
  hourMs: number,
  count: number,
): Promise<void> {
  const fromMs = hourMs - count * LONG_GAP_S * 1000;
  const from = new Date(fromMs);
  await sql`
    select ensure_sample_month(month::date)
    from generate_series(date_trunc('month', ${from}::timestamptz), ${new Date(hourMs)}::timestamptz, interval '1 month') month`;
  await sql`
    insert into sample (node_id, observed_at, layout_id, received_at, values)
    select ${node}, at, (select min(id) from layout), at,
      array[6 + 4 * sin(i / 460.0), 12.9 + 0.3 * sin(i / 460.0) + 0.05 * sin(i / 7.0), 60 + 20 * sin(i / 90000.0), 0.6,
        greatest(0, 9 * sin(i / 458.4))]
    from generate_series(0, ${count - 1}::int) i,
      lateral (select ${from}::timestamptz + i * ${LONG_GAP_S}::int * interval '1 second' as at) t`;
  for (const grain of ['hour', 'day'] as const) {
    const start = sql(`${grain}_start`);
    await sql`
      insert into ${sql(`rollup_${grain}`)} (node_id, metric_id, quality, count, ${start}, sum, min, max, last, last_at, news_version)
      select ${node}, metric_id, 1, count(*), at, sum(v), min(v), max(v), (array_agg(v order by observed_at desc))[1], max(observed_at), 1
      from sample join layout on layout.id = sample.layout_id,
        unnest(layout.metric_ids, sample.values) one (metric_id, v),
        lateral (select date_trunc(${grain}, observed_at at time zone 'UTC') at time zone 'UTC' as at) t
      where node_id = ${node} and observed_at < ${new Date(hourMs)}
      group by metric_id, at
      on conflict do nothing`;
  }
}

/**
 * More sites of the same kind, by copying what the server made of the first ones.
 *
 * @param range.learnt how many first ones there are; the copies are numbered from + 1 to `to`
 */
export async function copyWebSites(
  url: string,
  { learnt, from, to }: { readonly learnt: number; readonly from: number; readonly to: number },
): Promise<void> {
  const sql = postgres(url, { max: 1, onnotice: () => undefined });
  try {
    await sql`
      insert into site select 'copy-' || i, 'Copy ' || i, latitude_deg, longitude_deg, elevation_m, time_zone, access, hazards
      from generate_series(${from + 1}::int, ${to}::int) i
      join site on site.id = 'moor-' || lpad((i % ${learnt}::int)::text, 4, '0')`;
    await sql`
      insert into node (name, site_id, secret_hash, power, commissioned_at)
      select 'copy-' || i || '-1', 'copy-' || i, secret_hash, power, commissioned_at
      from generate_series(${from + 1}::int, ${to}::int) i
      join node on node.site_id = 'moor-' || lpad((i % ${learnt}::int)::text, 4, '0')`;
    const pairs = sql`
      (select copy.id as copy_id, node.id as node_id from node copy
       join node on copy.site_id like 'copy-%' and substr(copy.site_id, 6)::int > ${from}::int
         and node.site_id = 'moor-' || lpad((substr(copy.site_id, 6)::int % ${learnt}::int)::text, 4, '0')) pair`;
    await sql`
      insert into node_pulse (node_id, first_heard_at, last_heard_at, last_live_at, news_version, advanced_version, next_check_at, view_version, charge)
      select copy_id, first_heard_at, last_heard_at, last_live_at, 1, 1, now() + interval '1 day', 1, charge
      from ${pairs} join node_pulse using (node_id)
      on conflict (node_id) do nothing`;
    await sql`insert into node_interval select copy_id, from_at, to_at, state, cause, settled_by, evidence
      from ${pairs} join node_interval using (node_id)`;
    await sql`insert into charge_day select copy_id, day_start, hours, news_version
      from ${pairs} join charge_day using (node_id)`;
    await sql`
      insert into outlook (node_id, issued_at, hindcast, dark, kind, horizon_days, p10_days, p50_days, p90_days,
        dark_within_3_days, dark_within_7_days, dark_within_14_days, model, body, fan)
      select copy_id, issued_at, hindcast, dark, kind, horizon_days, p10_days, p50_days, p90_days,
        dark_within_3_days, dark_within_7_days, dark_within_14_days, model, body, fan
      from ${pairs} join outlook using (node_id) where not hindcast`;
    // Their past is gone through as well: else the server would do that while it is timed.
    await sql`insert into hindcast_mark select copy_id, days_known, marked_at
      from ${pairs} join hindcast_mark using (node_id)`;
  } finally {
    await sql.end();
  }
}

/** @returns sites whose past the server has still to go through */
export async function pastsToDo(url: string): Promise<number> {
  const sql = postgres(url, { max: 1, onnotice: () => undefined });
  try {
    const [row] = await sql<{ left: number }[]>`
      select count(*)::int as left from node where not exists (select from hindcast_mark where node_id = node.id)`;
    return row?.left ?? 0;
  } finally {
    await sql.end();
  }
}

/** News of `perSecond` nodes each second, each of another node, as a commit of the pipeline tells it. */
export async function startFlood(
  url: string,
  perSecond: number,
): Promise<{ readonly stop: () => Promise<number> }> {
  const sql = postgres(url, { max: 2, onnotice: () => undefined });
  const ids = (await sql<{ id: number }[]>`select id from node order by id`).map(({ id }) => id);
  const BEATS = 10;
  const each = perSecond / BEATS;
  let told = 0;
  let beat = 0;
  let over = false;
  const run = (async () => {
    const startedMs = performance.now();
    while (!over) {
      const from = (beat * each) % ids.length;
      const some = [...ids, ...ids].slice(from, from + each);
      await sql`
        with changed as (
          update node_pulse set view_version = view_version + 1, last_heard_at = now(),
            charge = jsonb_set(charge, '{ratio}', to_jsonb(0.4 + 0.4 * random()))
          where node_id = any(${some}::int[]) and charge is not null
          returning node_id)
        select pg_notify('duskline_live', node_id::text) from changed`;
      told += some.length;
      beat += 1;
      const dueMs = startedMs + (beat * 1000) / BEATS;
      await new Promise((resolve) => setTimeout(resolve, Math.max(0, dueMs - performance.now())));
    }
  })();
  return {
    async stop() {
      over = true;
      await run;
      await sql.end();
      return told;
    },
  };
}
