import { accountId, alertId } from '@duskline/domain';
import type { Sql } from 'postgres';
import { alertOf, alertPlace, columns, type AlertRow } from './alerts.ts';
import { storableJson } from './array-literal.ts';
import { createOutboxWays } from './outbox-ways.ts';
import type { ClaimedCall, DueAlert, NewCall, OutboxRow, OutboxStore } from './outbox-store.ts';

/** Failures in a row after which a way out is taken for broken: as the sender has it, which shuts it then. */
const SHUT_AFTER = 5;

/** What is to be told to whom, until it is told. Due times are the caller's clock, leases the database's. */
export function createOutboxStore(sql: Sql): OutboxStore {
  return {
    ...createOutboxWays(sql),
    async dueAlerts(nowMs, limit) {
      const rows = await sql<DueRow[]>`
        select ${columns(sql)}, called, told::text[] as told, handed_to_id::text, next_call_at,
          coalesce((select name from site where site.id = alert.site_id), '') as site_name
        from alert
        where next_call_at <= to_timestamp(${nowMs}::float8 / 1000) and ended_at is null
        order by priority, next_call_at, node_id, number limit ${limit}`;
      return rows.map(dueOf);
    },
    async expand({ alert, dueAtMs }, { rows, told, nextCallAtMs }, nowMs) {
      const place = alertPlace(alert.id);
      if (place === undefined) return false;
      const expanded = await sql`
        with expanded as (
          update alert set called = called + 1, told = told || ${[...told]}::uuid[],
            next_call_at = to_timestamp(${nextCallAtMs ?? null}::float8 / 1000)
          where node_id = ${place.node} and number = ${place.number} and ended_at is null
            and next_call_at = to_timestamp(${dueAtMs}::float8 / 1000)
          returning node_id
        ),
        told_of as (${inserted(sql, rows, nowMs, sql`from expanded,`)})
        select node_id from expanded`;
      return expanded.length === 1;
    },
    async add(rows, nowMs) {
      if (rows.length === 0) return 0;
      const added = await inserted(sql, rows, nowMs, sql`from`);
      return added.length;
    },
    async widenFlood(person, body) {
      const rows = await sql`
        update outbox set body = ${storableJson(body)}::text::jsonb
        where account_id = ${person}::uuid and kind = 'flood' and state = 'due' and attempts = 0
        returning key`;
      return rows.length > 0;
    },
    async claim({ holder, limit, leaseMs, nowMs }) {
      await supersede(sql, nowMs);
      const rows = await sql<ClaimedRow[]>`
        update outbox set fence = fence + 1, holder = ${holder}, attempts = attempts + 1,
          leased_until = clock_timestamp() + ${leaseMs}::float8 * interval '1 millisecond'
        from (
          select outbox.key, channel.address, channel.keys, coalesce(channel_state.failures, 0) as failures
          from outbox
          join channel on channel.id = outbox.channel_id
          left join channel_state on channel_state.breaker = outbox.breaker
          where state = 'due'
            and (leased_until is null or leased_until < clock_timestamp())
            and case when coalesce(channel_state.failures, 0) < ${SHUT_AFTER}
              then due_at <= to_timestamp(${nowMs}::float8 / 1000)
              -- A way out that fails is tried with what is most urgent of all that waits for it, whichever is due.
              else exists (
                select from outbox waiting
                where waiting.breaker = outbox.breaker and waiting.state = 'due'
                having min(waiting.priority) = outbox.priority
                  and min(waiting.due_at) <= to_timestamp(${nowMs}::float8 / 1000)
                  and (outbox.due_at <= to_timestamp(${nowMs}::float8 / 1000)
                    or min(waiting.due_at) filter (where waiting.priority = outbox.priority)
                      > to_timestamp(${nowMs}::float8 / 1000))
              ) end
            and coalesce(channel_state.open_until, '-infinity') <= to_timestamp(${nowMs}::float8 / 1000)
          order by priority, due_at, outbox.key limit ${limit}
          for update of outbox skip locked
        ) due
        where outbox.key = due.key
        returning ${rowColumns(sql)}, fence, give_up_at, breaker, channel_id::text, due.address, due.keys, due.failures`;
      return rows
        .map(claimedOf)
        .sort((a, b) =>
          a.priority < b.priority ? -1 : a.priority > b.priority ? 1 : a.dueAtMs - b.dueAtMs,
        );
    },
    async begin({ key, fence }, leaseMs) {
      const rows = await sql`
        update outbox set leased_until = clock_timestamp() + ${leaseMs}::float8 * interval '1 millisecond'
        where key = ${key} and fence = ${fence} and state = 'due' and leased_until > clock_timestamp()
          and ${wanted(sql)}
        returning key`;
      return rows.length === 1;
    },
    async renew(calls, leaseMs) {
      await sql`
        update outbox set leased_until = clock_timestamp() + ${leaseMs}::float8 * interval '1 millisecond'
        from unnest(${calls.map(({ key }) => key)}::text[], ${calls.map(({ fence }) => fence)}::bigint[]) held (key, fence)
        where outbox.key = held.key and outbox.fence = held.fence and state = 'due'
          and leased_until > clock_timestamp()`;
    },
    async sent({ key, fence, breaker }, nowMs) {
      // A way out that works again takes at once what waited for it.
      const rows = await sql`
        with done as (
          update outbox set state = 'sent', settled_at = to_timestamp(${nowMs}::float8 / 1000), error = null,
            holder = null, leased_until = null
          where key = ${key} and fence = ${fence} and state = 'due'
          returning key
        ),
        before as (select failures from channel_state where breaker = ${breaker}),
        works as (
          insert into channel_state (breaker, failures, sent_at)
          values (${breaker}, 0, to_timestamp(${nowMs}::float8 / 1000))
          on conflict (breaker) do update set failures = 0, open_until = null, error = null, sent_at = excluded.sent_at
        ),
        pulled as (
          update outbox set due_at = to_timestamp(${nowMs}::float8 / 1000)
          where breaker = ${breaker} and state = 'due' and attempts > 0 and key <> ${key}
            and due_at > to_timestamp(${nowMs}::float8 / 1000) and (select failures from before) >= ${SHUT_AFTER}
        )
        select key from done`;
      return rows.length === 1;
    },
    async again({ key, fence }, { dueAtMs, error, uncounted }) {
      await sql`
        update outbox set due_at = to_timestamp(${dueAtMs}::float8 / 1000), error = coalesce(${error ?? null}, error),
          attempts = attempts - ${uncounted === true ? 1 : 0}::integer, holder = null, leased_until = null
        where key = ${key} and fence = ${fence} and state = 'due'`;
    },
    async dead({ key, fence, channel }, { error, channel: outcome }, nowMs) {
      await sql`
        with given_up as (
          update outbox set state = 'dead', settled_at = to_timestamp(${nowMs}::float8 / 1000), error = ${error},
            holder = null, leased_until = null
          where key = ${key} and fence = ${fence} and state = 'due'
          returning key
        )
        update channel set
          fault = case when ${outcome ?? null}::text = 'fault' then ${error} else fault end,
          ended_at = case when ${outcome ?? null}::text = 'ended' then to_timestamp(${nowMs}::float8 / 1000)
            else ended_at end
        where id = ${channel.id}::uuid and ${outcome !== undefined} and exists (select from given_up)`;
    },
    async list({ alertId: alert, personId, states, fromMs, toMs, limit }) {
      const place = alert === undefined ? null : (alertPlace(alert) ?? { node: -1, number: -1 });
      const rows = await sql<Row[]>`
        select ${rowColumns(sql)} from outbox
        where (${place?.node ?? null}::integer is null
            or (node_id = ${place?.node ?? null}::integer and number = ${place?.number ?? null}::integer))
          and (${personId ?? null}::text is null or account_id::text = ${personId ?? null})
          and (${states === undefined} or state = any(${[...(states ?? [])]}::text[]))
          and created_at >= coalesce(to_timestamp(${fromMs ?? null}::float8 / 1000), '-infinity')
          and created_at < coalesce(to_timestamp(${toMs ?? null}::float8 / 1000), 'infinity')
        order by created_at desc, key limit ${limit}`;
      return rows.map(rowOf);
    },
    async stuckUrgent(beforeMs) {
      const rows = await sql<Row[]>`
        select ${rowColumns(sql)} from outbox
        where kind = 'call' and priority = 'P1' and state in ('due', 'dead')
          and wanted_at <= to_timestamp(${beforeMs}::float8 / 1000)
          and wanted_at > to_timestamp(${beforeMs}::float8 / 1000) - interval '1 day'
          and ${wanted(sql)}
          and not exists (
            select from outbox other
            where other.node_id = outbox.node_id and other.number = outbox.number and other.step = outbox.step
              and other.account_id = outbox.account_id and other.key <> outbox.key
              and (other.state = 'sent' or other.created_at >= outbox.created_at)
          )
        order by created_at, key limit 100`;
      return rows.map(rowOf);
    },
    async callsSince(person, sinceMs) {
      const [row] = await sql<{ count: number }[]>`
        select count(distinct (node_id, number)) as count from outbox
        where account_id = ${person}::uuid and kind = 'call' and state <> 'superseded'
          and created_at >= to_timestamp(${sinceMs}::float8 / 1000)`;
      return row?.count ?? 0;
    },
    async oldestUnsentMs(nowMs) {
      const [row] = await sql<{ wanted_at: number | null }[]>`
        select min(wanted_at) as wanted_at from outbox
        where state = 'due' and wanted_at <= to_timestamp(${nowMs}::float8 / 1000)`;
      return row?.wanted_at == null ? undefined : nowMs - row.wanted_at;
    },
  };
}

/**
 * Is a row still worth sending? A call is while its alert is open and nobody has taken it since; one that is paused calls
 * only where people are in danger.
 */
const wanted = (sql: Sql) => sql`
  (outbox.kind <> 'call' or exists (
    select from alert
    where alert.node_id = outbox.node_id and alert.number = outbox.number and alert.ended_at is null
      and (alert.state = 'new' or (alert.state = 'taken' and alert.taken_at < outbox.created_at)
        or (alert.state = 'paused' and alert.priority = 'P1'))
  ))`;

async function supersede(sql: Sql, nowMs: number): Promise<void> {
  await sql`
    update outbox set state = 'superseded', settled_at = to_timestamp(${nowMs}::float8 / 1000)
    where state = 'due' and kind = 'call' and (leased_until is null or leased_until < clock_timestamp())
      and (not ${wanted(sql)} or exists (
        select from outbox later
        where later.node_id = outbox.node_id and later.number = outbox.number and later.kind = 'call'
          and later.account_id = outbox.account_id and later.channel_id = outbox.channel_id and later.step > outbox.step
      ))`;
}

/** @param source `from` with what the rows depend on */
function inserted(sql: Sql, rows: readonly NewCall[], nowMs: number, source: ReturnType<Sql>) {
  const given = rows.map(({ alertId: alert, channel, personId, dueAtMs, giveUpAtMs, ...row }) => {
    const place = alert === undefined ? undefined : alertPlace(alert);
    return {
      ...row,
      node_id: place?.node ?? null,
      number: place?.number ?? null,
      account_id: personId,
      channel_id: channel?.id ?? null,
      channel_kind: channel?.kind ?? null,
      breaker: channel?.breaker ?? null,
      state: channel === undefined ? 'no-channel' : 'due',
      due_at: new Date(dueAtMs).toISOString(),
      give_up_at: new Date(giveUpAtMs).toISOString(),
    };
  });
  return sql`
    insert into outbox (
      key, kind, node_id, number, step, priority, account_id, channel_id, channel_kind, breaker, state, wanted_at, due_at,
      give_up_at, body, created_at
    )
    select given.key, given.kind, given.node_id, given.number, given.step, given.priority, given.account_id,
      given.channel_id, given.channel_kind, given.breaker, given.state, given.due_at, given.due_at, given.give_up_at, given.body,
      to_timestamp(${nowMs}::float8 / 1000)
    ${source} jsonb_to_recordset(${storableJson(given)}::text::jsonb) given (
      key text, kind text, node_id integer, number integer, step integer, priority text, account_id uuid,
      channel_id uuid, channel_kind text, breaker text, state text, due_at timestamptz, give_up_at timestamptz, body jsonb
    )
    on conflict do nothing
    returning key`;
}

const rowColumns = (sql: Sql) => sql`
  outbox.key, outbox.kind, outbox.node_id, outbox.number, outbox.step, outbox.priority, outbox.account_id::text,
  outbox.channel_kind, outbox.state, outbox.created_at, outbox.due_at, outbox.settled_at, outbox.attempts, outbox.error,
  outbox.body`;

interface Row extends Pick<
  OutboxRow,
  'key' | 'kind' | 'step' | 'priority' | 'state' | 'attempts' | 'body'
> {
  readonly node_id: number | null;
  readonly number: number | null;
  readonly account_id: string;
  readonly channel_kind: NonNullable<OutboxRow['channelKind']> | null;
  readonly created_at: number;
  readonly due_at: number;
  readonly settled_at: number | null;
  readonly error: string | null;
}

function rowOf(row: Row): OutboxRow {
  return {
    key: row.key,
    kind: row.kind,
    ...(row.node_id === null ? {} : { alertId: alertId(`${row.node_id}-${row.number ?? 0}`) }),
    step: row.step,
    priority: row.priority,
    personId: accountId(row.account_id),
    ...(row.channel_kind === null ? {} : { channelKind: row.channel_kind }),
    state: row.state,
    createdAtMs: row.created_at,
    dueAtMs: row.due_at,
    ...(row.settled_at === null ? {} : { settledAtMs: row.settled_at }),
    attempts: row.attempts,
    ...(row.error === null ? {} : { error: row.error }),
    body: row.body,
  };
}

interface ClaimedRow extends Row {
  readonly fence: number;
  readonly give_up_at: number;
  readonly breaker: string;
  readonly channel_id: string;
  readonly address: string;
  readonly keys: ClaimedCall['channel']['keys'];
  readonly failures: number;
}

const claimedOf = (row: ClaimedRow): ClaimedCall => ({
  ...rowOf(row),
  fence: row.fence,
  giveUpAtMs: row.give_up_at,
  breaker: row.breaker,
  breakerFailures: row.failures,
  channel: {
    id: row.channel_id,
    kind: row.channel_kind ?? 'email',
    address: row.address,
    keys: row.keys,
  },
});

interface DueRow extends AlertRow {
  readonly called: number;
  readonly told: readonly string[];
  readonly handed_to_id: string | null;
  readonly next_call_at: number;
  readonly site_name: string;
}

const dueOf = (row: DueRow): DueAlert => ({
  alert: alertOf(row),
  siteName: row.site_name,
  dueAtMs: row.next_call_at,
  called: row.called,
  told: row.told.map(accountId),
  ...(row.handed_to_id === null ? {} : { handedTo: accountId(row.handed_to_id) }),
});
