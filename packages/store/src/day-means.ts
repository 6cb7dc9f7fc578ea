import type { MetricKey, NodeEvent, NodeId, SiteId } from '@duskline/domain';
import type { Sql } from 'postgres';
import { storableText } from './array-literal.ts';

/** A day counts when so many of its hours have readings. */
const LEAST_HOURS = 18;

export interface DayMean {
  readonly nodeId: NodeId;
  readonly siteId: SiteId;
  readonly latitudeDeg: number;
  readonly longitudeDeg: number;
  readonly elevationM: number;
  /** Of the hourly means. */
  readonly value: number;
}

export interface DayMeanStore {
  /** What every node in service read on the average of the 24 h from `fromMs`, of readings that passed their tests. */
  of(metric: MetricKey, fromMs: number): Promise<readonly DayMean[]>;
  /** Writes it down unless the site's logbook has just that line of that time already. */
  noteOnce(event: NodeEvent & { readonly nodeId: NodeId }): Promise<boolean>;
}

export function createDayMeanStore(sql: Sql): DayMeanStore {
  return {
    async of(metric, fromMs) {
      return await sql<DayMean[]>`
        select node.id as "nodeId", site.id as "siteId", latitude_deg as "latitudeDeg", longitude_deg as "longitudeDeg",
          elevation_m as "elevationM", day.value
        from node
        join site on site.id = node.site_id
        cross join lateral (
          select avg(sum / count) as value, count(*) as hours
          from rollup_hour
          where node_id = node.id and metric_id = (select id from metric where key = ${metric}) and quality = 1
            and hour_start >= to_timestamp(${fromMs}::float8 / 1000)
            and hour_start < to_timestamp(${fromMs}::float8 / 1000) + interval '24 hours'
        ) day
        where node.retired_at is null and day.hours >= ${LEAST_HOURS}
        order by node.id`;
    },
    async noteOnce({ siteId, nodeId, atMs, kind, sentence, by }) {
      const rows = await sql`
        insert into site_event (site_id, at, node_id, kind, sentence, by)
        select ${siteId}, to_timestamp(${atMs}::float8 / 1000), ${nodeId}::integer, ${kind}, ${storableText(sentence)}::text, ${by ?? null}::text
        where not exists (
          select from site_event
          where site_id = ${siteId} and at = to_timestamp(${atMs}::float8 / 1000) and node_id = ${nodeId}::integer
            and kind = ${kind} and sentence = ${storableText(sentence)}::text
        )
        returning id`;
      return rows.length > 0;
    },
  };
}
