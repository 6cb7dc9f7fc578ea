import type {
  AcceptedGap,
  Diagnosis,
  EventKind,
  NodeEvent,
  NodeId,
  RuleSettings,
  SiteId,
} from '@duskline/domain';
import type { Sql } from 'postgres';
import { storableText } from './array-literal.ts';
import type {
  AcceptedGapStore,
  DiagnosisStore,
  EventStore,
  RuleSettingEntry,
  RuleSettingStore,
} from './watch-store.ts';

export function createEventStore(sql: Sql): EventStore {
  return {
    async list(siteId, { fromMs, toMs, limit }) {
      const rows = await sql<EventRow[]>`
        select site_id, at, node_id, kind, sentence, by from site_event
        where site_id = ${siteId} and at >= to_timestamp(${fromMs}::float8 / 1000)
          and at < to_timestamp(${toMs}::float8 / 1000)
        order by at desc, id limit ${limit}`;
      return rows.map(eventOf);
    },
    async add(event) {
      await sql`
        insert into site_event (site_id, at, node_id, kind, sentence, by)
        values (
          ${event.siteId}, to_timestamp(${event.atMs}::float8 / 1000), ${event.nodeId ?? null}, ${event.kind},
          ${storableText(event.sentence)}, ${event.by ?? null}
        )`;
    },
  };
}

interface EventRow {
  readonly site_id: SiteId;
  readonly at: number;
  readonly node_id: NodeId | null;
  readonly kind: EventKind;
  readonly sentence: string;
  readonly by: string | null;
}

const eventOf = (row: EventRow): NodeEvent => ({
  siteId: row.site_id,
  ...(row.node_id === null ? {} : { nodeId: row.node_id }),
  atMs: row.at,
  kind: row.kind,
  sentence: row.sentence,
  ...(row.by === null ? {} : { by: row.by }),
});

export function createAcceptedGapStore(sql: Sql): AcceptedGapStore {
  return {
    async list(nowMs, siteId) {
      const rows = await sql<GapRow[]>`
        select id, site_id, from_at, until_at, by, reason, ended_at from accepted_gap
        where ended_at is null and until_at > to_timestamp(${nowMs}::float8 / 1000)
          and (${siteId ?? null}::text is null or site_id = ${siteId ?? null})
        order by from_at, id`;
      return rows.map(gapOf);
    },
    async between(siteId, fromMs, toMs) {
      const rows = await sql<GapRow[]>`
        select id, site_id, from_at, until_at, by, reason, ended_at from accepted_gap
        where site_id = ${siteId} and from_at < to_timestamp(${toMs}::float8 / 1000)
          and coalesce(ended_at, until_at) > to_timestamp(${fromMs}::float8 / 1000)
        order by from_at, id`;
      return rows.map(gapOf);
    },
    async accept(gap) {
      const [row] = await sql<GapRow[]>`
        insert into accepted_gap (site_id, from_at, until_at, by, reason)
        values (
          ${gap.siteId}, to_timestamp(${gap.fromMs}::float8 / 1000), to_timestamp(${gap.untilMs}::float8 / 1000),
          ${gap.by}, ${storableText(gap.reason)}
        )
        returning id, site_id, from_at, until_at, by, reason, ended_at`;
      if (row === undefined) throw new Error('The gap was not kept.');
      return gapOf(row);
    },
    async end(id, nowMs) {
      const [row] = await sql<GapRow[]>`
        update accepted_gap set ended_at = to_timestamp(${nowMs}::float8 / 1000)
        where id::text = ${id} and ended_at is null
        returning id, site_id, from_at, until_at, by, reason, ended_at`;
      return row && gapOf(row);
    },
  };
}

interface GapRow {
  readonly id: string;
  readonly site_id: SiteId;
  readonly from_at: number;
  readonly until_at: number;
  readonly by: string;
  readonly reason: string;
  readonly ended_at: number | null;
}

const gapOf = (row: GapRow): AcceptedGap => ({
  id: row.id,
  siteId: row.site_id,
  fromMs: row.from_at,
  untilMs: row.until_at,
  by: row.by,
  reason: row.reason,
  ...(row.ended_at === null ? {} : { endedAtMs: row.ended_at }),
});

export function createRuleSettingStore(sql: Sql): RuleSettingStore {
  const places = (scopes: readonly string[], subjects: readonly string[]) => sql<SettingRow[]>`
    select distinct on (scope, subject, rule, setting) scope, subject, rule, setting, value, by, at
    from rule_setting
    where (scope, subject) in (select * from unnest(${[...scopes]}::text[], ${[...subjects]}::text[]))
    order by scope, subject, rule, setting, at desc`;
  return {
    async of(node) {
      return merged(await places(['fleet', 'site', 'node'], ['', node.siteId, String(node.id)]));
    },
    async ofFleet() {
      return merged(await places(['fleet'], ['']));
    },
    async inForce() {
      const rows = await sql<SettingRow[]>`
        select distinct on (scope, subject, rule, setting) scope, subject, rule, setting, value, by, at
        from rule_setting
        order by scope, subject, rule, setting, at desc`;
      return rows.filter(({ value }) => value !== null).map(entryOf);
    },
    async history(limit) {
      const rows = await sql<SettingRow[]>`
        select scope, subject, rule, setting, value, by, at from rule_setting
        order by at desc, scope, subject, rule, setting limit ${limit}`;
      return rows.map(entryOf);
    },
    async set(entry) {
      await sql`
        insert into rule_setting (scope, subject, rule, setting, at, value, by)
        values (
          ${entry.scope}, ${entry.subject}, ${entry.rule}, ${entry.setting},
          to_timestamp(${entry.atMs}::float8 / 1000), ${entry.value}, ${entry.by}
        )
        on conflict (scope, subject, rule, setting, at) do update set value = excluded.value, by = excluded.by`;
    },
  };
}

type SettingRow = Omit<RuleSettingEntry, 'atMs'> & { readonly at: number };

const entryOf = ({ at, ...row }: SettingRow): RuleSettingEntry => ({ ...row, atMs: at });

const RANK = { fleet: 0, site: 1, node: 2 } as const;

function merged(rows: readonly SettingRow[]): RuleSettings {
  const settings: Record<string, Record<string, number>> = {};
  for (const { rule, setting, value } of [...rows].sort((a, b) => RANK[a.scope] - RANK[b.scope])) {
    if (value === null) continue;
    settings[rule] = { ...settings[rule], [setting]: value };
  }
  return settings;
}

export function createDiagnosisStore(sql: Sql): DiagnosisStore {
  return {
    async of(node) {
      const rows = await sql<{ body: Diagnosis }[]>`
        select body from diagnosis where node_id = ${node}`;
      return Object.fromEntries(rows.map(({ body }) => [body.question, body]));
    },
  };
}
