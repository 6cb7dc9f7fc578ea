import {
  alertId,
  type Account,
  type Alert,
  type AlertId,
  type AlertStep,
  type NodeId,
  type RuleMemory,
} from '@duskline/domain';
import type { Sql } from 'postgres';
import { planStep } from './alert-steps.ts';
import type { AlertHistoryEntry, AlertStore, StepOutcome } from './alert-store.ts';

export function createAlertStore(sql: Sql): AlertStore {
  const stepped = async (
    id: AlertId,
    kind: 'take' | 'seen',
    at: { by: Account; nowMs: number },
  ) => {
    // Only a new alert is taken so: who takes one from somebody else says it by a step.
    const outcome = await step(sql, id, {
      step: { kind },
      only: kind === 'take' ? 'new' : null,
      ...at,
    });
    return outcome.kind === 'no-such-alert' ? undefined : outcome.alert;
  };
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
    find: (id) => find(sql, id),
    async between(fromMs, toMs) {
      const rows = await sql<AlertRow[]>`
        select ${columns(sql)} from alert
        where opened_at < to_timestamp(${toMs}::float8 / 1000)
          and (ended_at is null or ended_at >= to_timestamp(${fromMs}::float8 / 1000)
            or opened_at >= to_timestamp(${fromMs}::float8 / 1000))
        order by opened_at, node_id, number`;
      return rows.map(alertOf);
    },
    async memory(node) {
      const rows = await sql<{ memory: RuleMemory }[]>`
        select memory from rule_memory where node_id = ${node} order by rule, subject`;
      return rows.map((row) => row.memory);
    },
    step: (id, what, by, nowMs) => step(sql, id, { step: what, by, nowMs, only: null }),
    take: (id, by, nowMs) => stepped(id, 'take', { by, nowMs }),
    seen: (id, by, nowMs) => stepped(id, 'seen', { by, nowMs }),
    endPauses: (nowMs) => endPauses(sql, nowMs),
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
  readonly step: AlertStep;
  readonly by: Account;
  readonly nowMs: number;
  /** Narrower than what the step allows. */
  readonly only: Alert['state'] | null;
}

/**
 * A person's step in the life of an alert, with its history and the word to the pages in one statement. An alert in
 * another state than the step starts from stays as it is. What is open for the same cause goes with it, all but a note; a
 * danger to people (P1) goes only with another.
 */
async function step(
  sql: Sql,
  id: AlertId,
  { step: what, by, nowMs, only }: PersonStep,
): Promise<StepOutcome> {
  const place = alertPlace(id);
  if (place === undefined) return { kind: 'no-such-alert' };
  const plan = planStep(what, by);
  const from = only === null ? [...plan.from] : [only];
  const [changed] = await sql<{ number: number }[]>`
    with meant as (
      select number, coalesce(joins, number) as cause, priority from alert
      where node_id = ${place.node} and number = ${place.number} and state = any(${from}::text[])
    ),
    changed as (
      update alert set steps = steps + 1,
        state = case when ${plan.to} = 'same' then state when ${plan.to} = 'before-pause' then ${beforePause(sql)}
          else ${plan.to} end,
        taken_at = case when ${what.kind} = 'take' then to_timestamp(${nowMs}::float8 / 1000)
          when ${what.kind} = 'hand-over' then null else taken_at end,
        taken_by = case when ${what.kind} = 'take' then ${plan.takenBy ?? null}
          when ${what.kind} = 'hand-over' then null else taken_by end,
        taken_until = case when ${plan.to} = 'same' then taken_until
          else to_timestamp(${plan.takenUntilMs ?? null}::float8 / 1000) end,
        paused_until = case when ${plan.to} = 'same' then paused_until
          else to_timestamp(${plan.paused?.untilMs ?? null}::float8 / 1000) end,
        paused_by = case when ${plan.to} = 'same' then paused_by else ${plan.paused?.by ?? null} end,
        pause_why = case when ${plan.to} = 'same' then pause_why else ${plan.paused?.why ?? null} end,
        handed_to = case when ${plan.to} = 'same' then handed_to else ${plan.handedTo?.name ?? null} end,
        handed_to_id = case when ${plan.to} = 'same' then handed_to_id else ${plan.handedTo?.id ?? null}::uuid end,
        next_call_at = case ${plan.call} when 'same' then next_call_at
          when 'now' then case when alert.number = meant.number
            and (${plan.to} <> 'before-pause' or taken_by is distinct from ${by.name})
            then to_timestamp(${nowMs}::float8 / 1000) end end,
        told = case ${plan.call} when 'now' then '{}'::uuid[] else told end
      from meant
      where node_id = ${place.node} and state = any(${from}::text[])
        and (alert.number = meant.number
          or (${what.kind} <> 'note' and coalesce(joins, alert.number) = meant.cause
            and (alert.priority <> 'P1' or meant.priority = 'P1')))
      returning node_id, alert.number, steps, state, alert.priority
    ),
    noted as (
      insert into alert_change (node_id, number, step, at, kind, state, priority, by, why)
      select node_id, number, steps, to_timestamp(${nowMs}::float8 / 1000), ${what.kind}, state, priority, ${by.name},
        ${plan.why}
      from changed
    ),
    shown as (
      update node_pulse set view_version = view_version + 1
      from meant
      where node_pulse.node_id = ${place.node}
    ),
    told as (
      select pg_notify('duskline_live', ${String(place.node)}) from meant
    )
    select number from changed cross join (select count(*) from told) said
    where number = ${place.number}`;
  const alert = await find(sql, id);
  if (alert === undefined) return { kind: 'no-such-alert' };
  if (changed !== undefined) return { kind: 'done', alert };
  return { kind: 'not-now', alert, why: `The alert is ${alert.state.replaceAll('-', ' ')}.` };
}

async function find(sql: Sql, id: AlertId): Promise<Alert | undefined> {
  const place = alertPlace(id);
  if (place === undefined) return undefined;
  const [row] = await sql<AlertRow[]>`
    select ${columns(sql)} from alert where node_id = ${place.node} and number = ${place.number}`;
  return row && alertOf(row);
}

/** What an alert is after a pause: whoever had it before has it again. `paused` takes nothing from anybody. */
const beforePause = (sql: Sql) => sql`case when taken_by is null then 'new' else 'taken' end`;

async function endPauses(sql: Sql, nowMs: number): Promise<number> {
  const rows = await sql`
    with over as (
      update alert set state = ${beforePause(sql)}, steps = steps + 1, paused_until = null, paused_by = null,
        pause_why = null, told = '{}',
        next_call_at = case when alert.priority = 'P1' or not exists (
          select from alert before
          where before.node_id = alert.node_id and coalesce(before.joins, before.number) = alert.joins
            and before.number < alert.number and before.ended_at is null
        ) then to_timestamp(${nowMs}::float8 / 1000) end
      where state = 'paused' and paused_until <= to_timestamp(${nowMs}::float8 / 1000)
      returning node_id, number, steps, state, priority
    ),
    noted as (
      insert into alert_change (node_id, number, step, at, kind, state, priority, why)
      select node_id, number, steps, to_timestamp(${nowMs}::float8 / 1000), 'pause-over', state, priority,
        'The pause is over.'
      from over
    )
    select pg_notify('duskline_live', node_id::text) from over`;
  return rows.length;
}

const ID = /^(0|[1-9]\d{0,9})-([1-9]\d{0,9})$/;
const LARGEST_INTEGER = 2_147_483_647;

/** Node (0: the fleet) and number of an alert; undefined for an id that no alert can have. */
export function alertPlace(id: AlertId): { node: number; number: number } | undefined {
  const match = ID.exec(id);
  if (match === null) return undefined;
  const place = { node: Number(match[1]), number: Number(match[2]) };
  return Math.max(place.node, place.number) > LARGEST_INTEGER ? undefined : place;
}

export const columns = (sql: Sql) =>
  sql`node_id, number, site_id, rule, priority, state, opened_at, taken_at, taken_by, ended_at, text, subject, joins,
    taken_until, paused_until, paused_by, pause_why, handed_to,
    case when handed_to is not null then (
      select why from alert_change handed
      where handed.node_id = alert.node_id and handed.number = alert.number and handed.kind = 'hand-over'
      order by handed.step desc limit 1
    ) end as handed_says`;

export interface AlertRow extends Pick<Alert, 'rule' | 'priority' | 'state' | 'text'> {
  readonly node_id: NodeId;
  readonly number: number;
  readonly site_id: Alert['siteId'];
  readonly opened_at: number;
  readonly taken_at: number | null;
  readonly taken_by: string | null;
  readonly taken_until: number | null;
  readonly ended_at: number | null;
  readonly subject: string;
  readonly joins: number | null;
  readonly paused_until: number | null;
  readonly paused_by: string | null;
  readonly pause_why: string | null;
  readonly handed_to: string | null;
  readonly handed_says: string | null;
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
  ...(row.taken_until === null ? {} : { takenUntilMs: row.taken_until }),
  ...(row.ended_at === null ? {} : { endedAtMs: row.ended_at }),
  text: row.text,
  ...(row.subject === '' ? {} : { subject: row.subject }),
  ...(row.joins === null ? {} : { joins: alertId(`${row.node_id}-${row.joins}`) }),
  ...(row.handed_to === null ? {} : { handedTo: row.handed_to }),
  ...(row.handed_says === null ? {} : { handedSays: row.handed_says }),
  ...(row.paused_until === null
    ? {}
    : {
        paused: {
          untilMs: row.paused_until,
          by: row.paused_by ?? '',
          why: row.pause_why ?? '',
        },
      }),
});
