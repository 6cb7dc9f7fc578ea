import type { NodeId, NodeName, SettingsInForce, SettingsRequest } from '@duskline/domain';
import type { Sql } from 'postgres';
import { storableText } from './array-literal.ts';
import type { SettingsRequestStore } from './settings-request-store.ts';

export function createSettingsRequestStore(sql: Sql): SettingsRequestStore {
  return {
    async ask(node, { request, askedAtMs, askedBy }) {
      await sql`
        insert into settings_request (id, node_id, log_every_s, publish_every_s, thrift_until, asked_at, asked_by)
        values (
          ${request.id}, ${node}, ${request.logEveryS ?? null}, ${request.publishEveryS ?? null},
          to_timestamp(${request.thriftUntilMs ?? null}::float8 / 1000), to_timestamp(${askedAtMs}::float8 / 1000),
          ${storableText(askedBy)}
        )`;
    },
    async list(node, limit) {
      const rows = await sql<RequestRow[]>`
        select * from settings_request where node_id = ${node} order by asked_at desc, id limit ${limit}`;
      return rows.map((row) => ({
        request: requestOf(row),
        askedAtMs: row.asked_at,
        askedBy: row.asked_by,
        ...(row.answered_at === null ? {} : { answeredAtMs: row.answered_at }),
        ...(row.refusal === null ? {} : { refusal: row.refusal }),
      }));
    },
    async inForce(node) {
      const [row] = await sql<
        InForceRow[]
      >`select * from settings_in_force where node_id = ${node}`;
      return row && { settings: settingsOf(row), saidAtMs: row.said_at };
    },
    async confirm(name, settings, saidAtMs) {
      const said = sql`to_timestamp(${saidAtMs}::float8 / 1000)`;
      const { id, logEveryS, publishEveryS, thriftUntilMs } = settings;
      const refusal = settings.refusal === undefined ? null : storableText(settings.refusal);
      // Both parts see the tables as they were before: `before` is what was in force until now.
      const [row] = await sql<{ node_id: NodeId; is_news: boolean }[]>`
        with speaker as (
          select id from node where name = ${name}
        ), before as (
          select s.* from settings_in_force s join speaker on speaker.id = s.node_id
        ), kept as (
          insert into settings_in_force as s
            (node_id, request_id, log_every_s, publish_every_s, thrift_until, refusal, said_at)
          select id, ${id}, ${Math.round(logEveryS)}, ${Math.round(publishEveryS)},
            to_timestamp(${thriftUntilMs ?? null}::float8 / 1000), ${refusal}, ${said}
          from speaker
          on conflict (node_id) do update set
            request_id = excluded.request_id, log_every_s = excluded.log_every_s,
            publish_every_s = excluded.publish_every_s, thrift_until = excluded.thrift_until,
            refusal = excluded.refusal, said_at = excluded.said_at
          where s.said_at <= excluded.said_at
          returning s.*
        ), answered as (
          update settings_request r set answered_at = ${said}, refusal = ${refusal}
          from speaker where r.id = ${id} and r.node_id = speaker.id and r.answered_at is null
        )
        select speaker.id as node_id, kept.node_id is not null and (
          before.node_id is null
          or (before.request_id, before.log_every_s, before.publish_every_s)
             is distinct from (kept.request_id, kept.log_every_s, kept.publish_every_s)
          or before.thrift_until is distinct from kept.thrift_until
          or before.refusal is distinct from kept.refusal
        ) as is_news
        from speaker left join kept on true left join before on true`;
      return row && { nodeId: row.node_id, isNews: row.is_news };
    },
    async newest() {
      const rows = await sql<(RequestRow & { readonly name: NodeName })[]>`
        select distinct on (r.node_id) r.*, n.name
        from settings_request r join node n on n.id = r.node_id
        where n.retired_at is null
        order by r.node_id, r.asked_at desc, r.id`;
      return rows.map((row) => ({ name: row.name, request: requestOf(row) }));
    },
  };
}

interface RequestRow {
  readonly id: string;
  readonly log_every_s: number | null;
  readonly publish_every_s: number | null;
  readonly thrift_until: number | null;
  readonly asked_at: number;
  readonly asked_by: string;
  readonly answered_at: number | null;
  readonly refusal: string | null;
}

const requestOf = (row: RequestRow): SettingsRequest => ({
  id: row.id,
  ...(row.log_every_s === null ? {} : { logEveryS: row.log_every_s }),
  ...(row.publish_every_s === null ? {} : { publishEveryS: row.publish_every_s }),
  ...(row.thrift_until === null ? {} : { thriftUntilMs: row.thrift_until }),
});

interface InForceRow {
  readonly request_id: string;
  readonly log_every_s: number;
  readonly publish_every_s: number;
  readonly thrift_until: number | null;
  readonly refusal: string | null;
  readonly said_at: number;
}

const settingsOf = (row: InForceRow): SettingsInForce => ({
  id: row.request_id,
  logEveryS: row.log_every_s,
  publishEveryS: row.publish_every_s,
  ...(row.thrift_until === null ? {} : { thriftUntilMs: row.thrift_until }),
  ...(row.refusal === null ? {} : { refusal: row.refusal }),
});
