import type { SiteId } from '@duskline/domain';
import type { Sql } from 'postgres';
import { storableJson, storableText } from './array-literal.ts';
import type { OutsideForecastRecord, OutsideForecastStore } from './outside-forecast-store.ts';

export function createOutsideForecastStore(sql: Sql): OutsideForecastStore {
  return {
    async add({ siteId, source, issuedAtMs, receivedAtMs, by, body }) {
      const [row] = await sql<Row[]>`
        insert into outside_forecast (site_id, source, issued_at, received_at, received_by, body)
        values (
          ${siteId}, ${storableText(source)}, to_timestamp(${issuedAtMs}::float8 / 1000),
          to_timestamp(${receivedAtMs}::float8 / 1000), ${storableText(by)}, ${storableJson(body)}::text::jsonb
        )
        on conflict (site_id, source, issued_at) do update
          set received_at = excluded.received_at, received_by = excluded.received_by, body = excluded.body
          -- What an outlook was made of is never changed under it.
          where not exists (select from outlook_input where outlook_input.outside_id = outside_forecast.id)
        returning ${columns(sql)}`;
      return row && recordOf(row);
    },
    async list(siteId, limit) {
      const rows = await sql<Row[]>`
        select ${columns(sql)} from outside_forecast
        where site_id = ${siteId}
        order by issued_at desc, id desc
        limit ${limit}`;
      return rows.map(recordOf);
    },
    async find(id) {
      const [row] = await sql<
        Row[]
      >`select ${columns(sql)} from outside_forecast where id = ${id}::bigint`;
      return row && recordOf(row);
    },
    async newest(siteId, nowMs) {
      const [row] = await sql<Row[]>`
        select ${columns(sql)} from outside_forecast
        where site_id = ${siteId} and issued_at <= to_timestamp(${nowMs}::float8 / 1000)
          and received_at <= to_timestamp(${nowMs}::float8 / 1000)
        order by issued_at desc, id desc
        limit 1`;
      return row && recordOf(row);
    },
  };
}

const columns = (sql: Sql) =>
  sql`outside_forecast.id, outside_forecast.site_id, outside_forecast.source, outside_forecast.issued_at,
    outside_forecast.received_at, outside_forecast.received_by, outside_forecast.body, (
      select max(outlook_input.issued_at) from outlook_input where outlook_input.outside_id = outside_forecast.id
    ) as used_at`;

interface Row {
  readonly id: number;
  readonly site_id: SiteId;
  readonly source: string;
  readonly issued_at: number;
  readonly received_at: number;
  readonly received_by: string;
  readonly body: unknown;
  readonly used_at: number | null;
}

const recordOf = (row: Row): OutsideForecastRecord => ({
  id: String(row.id),
  siteId: row.site_id,
  source: row.source,
  issuedAtMs: row.issued_at,
  receivedAtMs: row.received_at,
  by: row.received_by,
  body: row.body,
  ...(row.used_at === null ? {} : { lastUsedAtMs: row.used_at }),
});
