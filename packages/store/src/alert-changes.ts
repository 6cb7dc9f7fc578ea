import type { AlertChange, NodeEvent, NodeId, Priority, RuleMemory } from '@duskline/domain';
import { sql, type Kysely } from 'kysely';
import { alertPlace } from './alerts.ts';
import { storableJson, storableText } from './array-literal.ts';
import { instant } from './database/epoch-ms.ts';
import type { Tables } from './schema.ts';

/** Writes what a run of the rules changed; a change to an alert that ended meanwhile does nothing. */
export async function keepAlertChanges(
  trx: Kysely<Tables>,
  node: NodeId,
  { changes, nowMs }: { readonly changes: readonly AlertChange[]; readonly nowMs: number },
): Promise<void> {
  for (const change of changes) await keepChange(trx, node, { change, nowMs });
}

async function keepChange(
  trx: Kysely<Tables>,
  node: NodeId,
  { change, nowMs }: { readonly change: AlertChange; readonly nowMs: number },
): Promise<void> {
  const now = instant(nowMs);
  await sql`
    with changed as (${changedAlert(node, change, nowMs)})
    insert into alert_change (node_id, number, step, at, kind, state, priority, why)
    select node_id, number, steps, ${now}, ${change.kind}, state, priority, ${storableText(change.why)}
    from changed`.execute(trx);
}

function changedAlert(node: NodeId, change: AlertChange, nowMs: number) {
  const returned = sql`returning node_id, number, steps, state, priority`;
  if (change.kind === 'open') {
    const joins = change.joins === undefined ? null : (alertPlace(change.joins)?.number ?? null);
    // What joins another of its cause calls nobody, unless people are in danger, or nobody was called for the cause yet.
    const calls = joins === null || change.priority === 'P1' || change.callsAllTheSame === true;
    // What somebody has, with all that follows from it, is theirs.
    // A rule has at most one alert of a subject that is not over: a second look at the same news opens none.
    return sql`
      insert into alert (node_id, number, site_id, rule, priority, state, opened_at, text, subject, joins, next_call_at,
        taken_at, taken_by, taken_until)
      select about.id, (select coalesce(max(number), 0) + 1 from alert where node_id = ${node}), about.site_id,
        ${change.rule}, ${change.priority}, case when theirs.taken_at is null then 'new' else 'taken' end,
        ${instant(nowMs)}, ${storableJson(change.text)}::text::jsonb,
        ${storableText(change.subject ?? '')}, ${joins}::integer, ${calls ? instant(nowMs) : null}::timestamptz,
        theirs.taken_at, theirs.taken_by, theirs.taken_until
      from (select id, site_id from node where id = ${node} union all select 0, '' where ${node}::integer = 0) about
      left join lateral (
        select taken_at, taken_by, taken_until from alert first
        where first.node_id = about.id and coalesce(first.joins, first.number) = ${joins}::integer
          and first.state = 'taken' and not ${calls}::boolean
        order by first.number limit 1
      ) theirs on true
      on conflict (node_id, rule, subject) where ended_at is null do nothing
      ${returned}`;
  }
  const number = alertPlace(change.id)?.number ?? 0;
  const same = sql`node_id = ${node} and number = ${number} and ended_at is null`;
  if (change.kind === 'update')
    return sql`
      update alert set priority = ${change.priority}, text = ${storableJson(change.text)}::text::jsonb,
        steps = steps + 1,
        next_call_at = case when ${becomesCall(node, change.priority)} then ${instant(nowMs)} else next_call_at end,
        told = case when ${change.priority} = 'P1' and priority <> 'P1' then '{}'::uuid[] else told end
      where ${same}
      ${returned}`;
  return sql`
    update alert set state = case when taken_at is null then 'ended-unseen' else 'ended' end,
      ended_at = ${instant(nowMs)}, steps = steps + 1, next_call_at = null, paused_until = null
    where ${same}
    ${returned}`;
}

/**
 * What has become urgent is told anew, whoever was told before; what can no longer wait for the morning letter is told where
 * nobody was yet, of it or of what it joins.
 */
const becomesCall = (node: NodeId, priority: Priority) => sql`
  (${priority} = 'P1' and priority <> 'P1')
  or (${priority} = 'P2' and priority = 'P3' and state = 'new' and told = '{}' and not exists (
    select from alert other
    where other.node_id = ${node} and coalesce(other.joins, other.number) = coalesce(alert.joins, alert.number)
      and other.number <> alert.number and other.ended_at is null
      and (other.priority <> 'P3' or other.state <> 'new')
  ))`;

/** Replaces what the rules remember of a node. */
export async function keepRuleMemory(
  trx: Kysely<Tables>,
  node: NodeId,
  memory: readonly RuleMemory[],
): Promise<void> {
  const given = sql`jsonb_array_elements(${storableJson(memory)}::text::jsonb) given`;
  await sql`
    with forgotten as (
      delete from rule_memory
      where node_id = ${node}
        and (rule, subject) not in (select given ->> 'rule', coalesce(given ->> 'subject', '') from ${given})
    )
    insert into rule_memory (node_id, rule, subject, memory)
    select ${node}::integer, given ->> 'rule', coalesce(given ->> 'subject', ''), given from ${given}
    on conflict (node_id, rule, subject) do update set memory = excluded.memory`.execute(trx);
}

/** Lines for the logbook. */
export async function keepEvents(trx: Kysely<Tables>, events: readonly NodeEvent[]): Promise<void> {
  for (const event of events)
    await sql`
      insert into site_event (site_id, at, node_id, kind, sentence, by)
      values (
        ${event.siteId}, ${instant(event.atMs)}, ${event.nodeId ?? null}, ${event.kind},
        ${storableText(event.sentence)}, ${event.by ?? null}
      )`.execute(trx);
}
