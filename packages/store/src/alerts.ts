import {
  alertId,
  type Account,
  type Alert,
  type AlertId,
  type NodeId,
  type RuleMemory,
} from '@duskline/domain';
import type { Sql } from 'postgres';
import type { AlertHistoryEntry, AlertStore } from './store.ts';

export function createAlertStore(sql: Sql): AlertStore {
  return {
    async open(node) {
      const rows = await sql<AlertRow[]>`
        select ${columns(sql)} from alert where node_id = ${node} and ended_at is null order by number`;
      return rows.map(alertOf);
    },
    async listOpen() {
      const rows = await sql<AlertRow[]>`
        select ${columns(sql)} from alert where state <> 'ended' order by priority, opened_at, node_id, number`;
      return rows.map(alertOf);
    },
    async memory(node) {
      const rows = await sql<{ memory: RuleMemory }[]>`
        select memory from rule_memory where node_id = ${node} order by rule`;
      return rows.map((row) => row.memory);
    },
    take: (id, by, nowMs) => step(sql, id, { kind: 'take', by, nowMs }),
    seen: (id, by, nowMs) => step(sql, id, { kind: 'seen', by, nowMs }),
    async history(id) {
      const place = alertPlace(id);
      if (place === undefined) return [];
      const rows = await sql<HistoryRow[]>`
        select at as "atMs", kind, state, priority, by, why
        from alert_change
        where node_id = ${place.node} and number = ${place.number}
        order by step`;
      return rows.map(({ by, ...entry }) => (by === null ? entry : { ...entry, by }));
    },
  };
}

interface PersonStep {
  readonly kind: 'take' | 'seen';
  readonly by: Account;
  readonly nowMs: number;
}

/**
 * A person's step in the life of an alert, with its history and the word to the pages in one statement. An alert in
 * another state than the step starts from stays as it is.
 */
async function step(
  sql: Sql,
  id: AlertId,
  { kind, by, nowMs }: PersonStep,
): Promise<Alert | undefined> {
  const place = alertPlace(id);
  if (place === undefined) return undefined;
  const [from, to] = kind === 'take' ? ['new', 'taken'] : ['ended-unseen', 'ended'];
  const why = kind === 'take' ? `Taken by ${by.name}.` : `Seen by ${by.name}.`;
  await sql`
    with changed as (
      update alert set state = ${to}, steps = steps + 1,
        taken_at = case when ${kind} = 'take' then to_timestamp(${nowMs}::float8 / 1000) else taken_at end,
        taken_by = case when ${kind} = 'take' then ${by.name} else taken_by end
      where node_id = ${place.node} and number = ${place.number} and state = ${from}
      returning node_id, number, steps, state, priority
    ),
    noted as (
      insert into alert_change (node_id, number, step, at, kind, state, priority, by, why)
      select node_id, number, steps, to_timestamp(${nowMs}::float8 / 1000), ${kind}, state, priority, ${by.name}, ${why}
      from changed
    ),
    shown as (
      update node_pulse set view_version = view_version + 1
      from changed
      where node_pulse.node_id = changed.node_id
    )
    select pg_notify('duskline_live', node_id::text) from changed`;
  const [row] = await sql<AlertRow[]>`
    select ${columns(sql)} from alert where node_id = ${place.node} and number = ${place.number}`;
  return row && alertOf(row);
}

const ID = /^([1-9]\d{0,9})-([1-9]\d{0,9})$/;
const LARGEST_INTEGER = 2_147_483_647;

/** Node and number of an alert; undefined for an id that no alert can have. */
export function alertPlace(id: AlertId): { node: number; number: number } | undefined {
  const match = ID.exec(id);
  if (match === null) return undefined;
  const place = { node: Number(match[1]), number: Number(match[2]) };
  return Math.max(place.node, place.number) > LARGEST_INTEGER ? undefined : place;
}

export const columns = (sql: Sql) =>
  sql`node_id, number, site_id, rule, priority, state, opened_at, taken_at, taken_by, ended_at, text`;

export interface AlertRow extends Pick<Alert, 'rule' | 'priority' | 'state' | 'text'> {
  readonly node_id: NodeId;
  readonly number: number;
  readonly site_id: Alert['siteId'];
  readonly opened_at: number;
  readonly taken_at: number | null;
  readonly taken_by: string | null;
  readonly ended_at: number | null;
}

type HistoryRow = Omit<AlertHistoryEntry, 'by'> & { readonly by: string | null };

export const alertOf = (row: AlertRow): Alert => ({
  id: alertId(`${row.node_id}-${row.number}`),
  nodeId: row.node_id,
  siteId: row.site_id,
  rule: row.rule,
  priority: row.priority,
  state: row.state,
  openedAtMs: row.opened_at,
  ...(row.taken_at === null ? {} : { takenAtMs: row.taken_at }),
  ...(row.taken_by === null ? {} : { takenBy: row.taken_by }),
  ...(row.ended_at === null ? {} : { endedAtMs: row.ended_at }),
  text: row.text,
});
