import { DAY_MS, HOUR_MS, type ChargeEstimate, type NodeId } from '@duskline/domain';
import { sql, type Kysely } from 'kysely';
import { keepAlertChanges, keepEvents, keepRuleMemory } from './alert-changes.ts';
import { arrayLiteral, storableJson } from './array-literal.ts';
import { instant } from './database/epoch-ms.ts';
import { lockRollups } from './rollup-lock.ts';
import type { Tables } from './schema.ts';
import type { Database } from './database/open-database.ts';
import { keepInterval } from './intervals.ts';
import { keepLearnt } from './learnt.ts';
import { keepOutlooks } from './outlooks.ts';
import { keepYields } from './signs.ts';
import { keepPast } from './past.ts';
import type { Advance, AdvanceOutcome } from './store.ts';

/** Any number: it keeps our advisory locks apart from those of others. */
const ADVANCE_LOCK = 7_316;

/**
 * Keeps what one look at a node found, all of it or nothing, and tells every server (`pg_notify` on `duskline_live`
 * with the node's number).
 *
 * Looks at the same node come one after the other. The pulse, which `accept` needs too, is touched last, so that the
 * intake waits for no more than the commit.
 */
export function commitAdvance(
  database: Database<Tables>,
  advance: Advance,
): Promise<AdvanceOutcome> {
  const { nodeId, verdict, nowMs } = advance;
  return database.transaction(async (trx) => {
    await sql`select pg_advisory_xact_lock(${ADVANCE_LOCK}::integer, ${nodeId}::integer)`.execute(
      trx,
    );
    const { rows } = await sql<{ advanced_version: number }>`
      select advanced_version from node_pulse where node_id = ${nodeId}`.execute(trx);
    if (rows[0] === undefined) throw new Error(`There is no node ${nodeId}.`);
    if (rows[0].advanced_version > advance.newsVersion) return 'outdated';

    await keepInterval(trx, nodeId, { verdict, nowMs });
    if (advance.past !== undefined) await keepPast(trx, nodeId, advance.past);
    await keepOutlooks(trx, nodeId, advance.outlooks ?? []);
    if (advance.learnt !== undefined) await keepLearnt(trx, nodeId, advance.learnt);
    await keepAlertChanges(trx, nodeId, { changes: advance.alertChanges, nowMs });
    await keepRuleMemory(trx, nodeId, advance.memory);
    await keepEvents(trx, advance.events ?? []);
    await keepDiagnoses(trx, nodeId, advance.diagnoses ?? {});
    await keepYields(trx, nodeId, advance.yields ?? []);
    await keepPastCharges(trx, nodeId, advance.pastCharges ?? []);
    if (advance.charge !== undefined) await keepCharge(trx, nodeId, advance.charge);
    await keepPulse(trx, advance);
    return 'committed';
  });
}

/** What was made of the voltage of a node without a gauge: its past charge has no other trace. */
async function keepCharge(
  trx: Kysely<Tables>,
  node: NodeId,
  charge: ChargeEstimate,
): Promise<void> {
  if (charge.method === 'gauge') return;
  await lockRollups(trx, node);
  const hourMs = Math.floor(charge.observedAtMs / HOUR_MS) * HOUR_MS;
  await sql`
    insert into charge_hour (node_id, hour_start, ratio, low_ratio, high_ratio, method)
    values (
      ${node}, ${instant(hourMs)}, ${charge.ratio}, ${charge.lowRatio}, ${charge.highRatio}, ${charge.method}
    )
    on conflict (node_id, hour_start) do update set ratio = excluded.ratio, low_ratio = excluded.low_ratio,
      high_ratio = excluded.high_ratio, method = excluded.method`.execute(trx);
  const dayMs = Math.floor(charge.observedAtMs / DAY_MS) * DAY_MS;
  await sql`select refresh_charge_day(${node}::integer, ${instant(dayMs)})`.execute(trx);
}

async function keepPastCharges(
  trx: Kysely<Tables>,
  node: NodeId,
  charges: readonly ChargeEstimate[],
): Promise<void> {
  if (charges.length === 0) return;
  await lockRollups(trx, node);
  const column = (value: (charge: ChargeEstimate) => number) => arrayLiteral(charges.map(value));
  await sql`
    with kept as (
      insert into charge_hour (node_id, hour_start, ratio, low_ratio, high_ratio, method)
      select ${node}::integer, date_bin('1 hour', to_timestamp(at_ms / 1000), 'epoch'), ratio, low_ratio, high_ratio, method
      from unnest(
        ${column(({ observedAtMs }) => observedAtMs)}::float8[], ${column(({ ratio }) => ratio)}::float8[],
        ${column(({ lowRatio }) => lowRatio)}::float8[], ${column(({ highRatio }) => highRatio)}::float8[],
        ${charges.map(({ method }) => method)}::text[]
      ) past (at_ms, ratio, low_ratio, high_ratio, method)
      on conflict (node_id, hour_start) do nothing
    )
    select 1`.execute(trx);
  const days = [
    ...new Set(charges.map(({ observedAtMs }) => Math.floor(observedAtMs / DAY_MS) * DAY_MS)),
  ];
  await sql`
    select refresh_charge_day(${node}::integer, to_timestamp(day_ms / 1000))
    from unnest(${arrayLiteral(days)}::float8[]) day (day_ms)`.execute(trx);
}

async function keepPulse(trx: Kysely<Tables>, advance: Advance): Promise<void> {
  const charge = advance.charge === undefined ? null : storableJson(advance.charge);
  await sql`
    with shown as (
      update node_pulse set advanced_version = ${advance.newsVersion}, view_version = view_version + 1,
        next_check_at = ${instant(advance.nextCheckAtMs)}, charge = ${charge}::text::jsonb
      where node_id = ${advance.nodeId}
      returning node_id
    )
    select pg_notify('duskline_live', node_id::text) from shown`.execute(trx);
}

async function keepDiagnoses(
  trx: Kysely<Tables>,
  node: NodeId,
  diagnoses: NonNullable<Advance['diagnoses']>,
): Promise<void> {
  for (const [question, diagnosis] of Object.entries(diagnoses))
    if (diagnosis === null)
      await sql`
        delete from diagnosis where node_id = ${node} and question = ${question}`.execute(trx);
    else
      await sql`
        insert into diagnosis (node_id, question, made_at, body)
        values (${node}, ${question}, ${instant(diagnosis.madeAtMs)}, ${storableJson(diagnosis)}::text::jsonb)
        on conflict (node_id, question) do update set made_at = excluded.made_at, body = excluded.body`.execute(
        trx,
      );
}
