import { accountId, type AccountId } from '@duskline/domain';
import type { Sql } from 'postgres';
import type { CalendarFeed, CalendarFeedStore } from './visit-store.ts';

export function createCalendarFeedStore(sql: Sql): CalendarFeedStore {
  return {
    async of(id) {
      const [row] = await sql<FeedRow[]>`
        select account_id, made_at from calendar_feed where account_id = ${id}::uuid`;
      return row && feedOf(row);
    },
    async renew(id, tokenHash, nowMs) {
      const [row] = await sql<FeedRow[]>`
        insert into calendar_feed (account_id, token_hash, made_at)
        values (${id}::uuid, ${tokenHash}, to_timestamp(${nowMs}::float8 / 1000))
        on conflict (account_id) do update set token_hash = excluded.token_hash, made_at = excluded.made_at
        returning account_id, made_at`;
      if (row === undefined) throw new Error('The calendar was not kept.');
      return feedOf(row);
    },
    async find(tokenHash) {
      const [row] = await sql<FeedRow[]>`
        select account_id, made_at from calendar_feed join account on account.id = account_id
        where token_hash = ${tokenHash} and account.ended_at is null`;
      return row && feedOf(row);
    },
    async end(id) {
      const rows = await sql`
        delete from calendar_feed where account_id = ${id}::uuid returning account_id`;
      return rows.length === 1;
    },
  };
}

interface FeedRow {
  readonly account_id: AccountId;
  readonly made_at: number;
}

const feedOf = (row: FeedRow): CalendarFeed => ({
  accountId: accountId(row.account_id),
  madeAtMs: row.made_at,
});
