import { accountId, alertId } from '@duskline/domain';
import type { Sql } from 'postgres';
import { alertPlace } from './alerts.ts';
import type { ChannelHealth, OutboxStore } from './outbox-store.ts';

/** How the ways out are doing, and the links that take an alert. */
export function createOutboxWays(
  sql: Sql,
): Pick<OutboxStore, 'breakerFailed' | 'channels' | 'makeLink' | 'findLink' | 'useLink'> {
  return {
    async breakerFailed(breaker, error, openUntilMs, nowMs) {
      await sql`
        insert into channel_state (breaker, failures, error, failed_at, open_until)
        values (
          ${breaker}, 1, ${error}, to_timestamp(${nowMs}::float8 / 1000), to_timestamp(${openUntilMs ?? null}::float8 / 1000)
        )
        on conflict (breaker) do update set failures = channel_state.failures + 1, error = excluded.error,
          failed_at = excluded.failed_at, open_until = excluded.open_until`;
    },
    async channels() {
      const rows = await sql<HealthRow[]>`
        select breaker, failures, open_until, error, failed_at, sent_at from channel_state order by breaker`;
      return rows.map(healthOf);
    },
    async makeLink({ tokenHash, alertId: alert, personId, expiresAtMs }) {
      const place = alertPlace(alert);
      if (place === undefined) return;
      await sql`
        with gone as (
          delete from alert_link where expires_at < to_timestamp(${expiresAtMs}::float8 / 1000) - interval '8 days'
        )
        insert into alert_link (token_hash, node_id, number, account_id, expires_at)
        values (
          ${tokenHash}, ${place.node}, ${place.number}, ${personId}::uuid, to_timestamp(${expiresAtMs}::float8 / 1000)
        )
        on conflict do nothing`;
    },
    async findLink(tokenHash, nowMs) {
      const [row] = await sql<LinkRow[]>`
        select node_id, number, account_id::text from alert_link
        join account on account.id = account_id and account.ended_at is null
        where token_hash = ${tokenHash} and used_at is null and expires_at > to_timestamp(${nowMs}::float8 / 1000)`;
      return row && linkOf(row);
    },
    async useLink(tokenHash, nowMs) {
      const [row] = await sql<LinkRow[]>`
        update alert_link set used_at = to_timestamp(${nowMs}::float8 / 1000)
        from account
        where token_hash = ${tokenHash} and used_at is null and expires_at > to_timestamp(${nowMs}::float8 / 1000)
          and account.id = account_id and account.ended_at is null
        returning node_id, number, account_id::text`;
      return row && linkOf(row);
    },
  };
}

interface LinkRow {
  readonly node_id: number;
  readonly number: number;
  readonly account_id: string;
}

const linkOf = (row: LinkRow) => ({
  alertId: alertId(`${row.node_id}-${row.number}`),
  personId: accountId(row.account_id),
});

interface HealthRow extends Pick<ChannelHealth, 'breaker' | 'failures'> {
  readonly open_until: number | null;
  readonly error: string | null;
  readonly failed_at: number | null;
  readonly sent_at: number | null;
}

const healthOf = (row: HealthRow): ChannelHealth => ({
  breaker: row.breaker,
  failures: row.failures,
  ...(row.open_until === null ? {} : { openUntilMs: row.open_until }),
  ...(row.error === null ? {} : { error: row.error }),
  ...(row.failed_at === null ? {} : { failedAtMs: row.failed_at }),
  ...(row.sent_at === null ? {} : { sentAtMs: row.sent_at }),
});
