import { DAY_MS } from '@duskline/domain';
import type { Sql } from 'postgres';
import type { HousekeepingStore } from './store.ts';
import { thinOutlooks } from './thin-outlooks.ts';

/** The ledger remembers single numbers for so long, though the watermark would do: for people who look into a fault. */
const LEDGER_KEPT_MS = 2 * DAY_MS;
const TAKEN_IN_KEPT_MS = 30 * DAY_MS;
const WAITING_KEPT_MS = 400 * DAY_MS;
const STRANGERS_KEPT_MS = 90 * DAY_MS;
/** Rows of the ledger that go in one statement: short enough to be in nobody's way. */
const AT_ONCE = 20_000;

export function createHousekeeping(sql: Sql): HousekeepingStore {
  const before = (nowMs: number, keptMs: number) => (nowMs - keptMs) / 1000;
  return {
    async forget(nowMs) {
      let ledgerRows = 0;
      for (;;) {
        // Only what the watermark contains: it refuses those numbers by itself.
        const gone = await sql`
          with known as (
            select m.node_id, m.boot, m.seq
            from message m join boot_watermark w using (node_id, boot)
            where m.received_at < to_timestamp(${before(nowMs, LEDGER_KEPT_MS)}::float8) and w.seqs @> m.seq::bigint
            limit ${AT_ONCE}
          )
          delete from message using known
          where message.node_id = known.node_id and message.boot = known.boot and message.seq = known.seq`;
        ledgerRows += gone.count;
        if (gone.count < AT_ONCE) break;
      }
      const quarantined = await sql`
        delete from quarantine
        where taken_in_at < to_timestamp(${before(nowMs, TAKEN_IN_KEPT_MS)}::float8)
          or last_received_at < to_timestamp(${before(nowMs, WAITING_KEPT_MS)}::float8)`;
      await sql`
        delete from unknown_node where last_seen_at < to_timestamp(${before(nowMs, STRANGERS_KEPT_MS)}::float8)`;
      const outlooks = await thinOutlooks(sql, nowMs);
      return { ledgerRows, quarantineRows: quarantined.count, outlooks };
    },
    async unsafeSettings() {
      const rows = await sql<{ name: string }[]>`
        select name from pg_settings
        where name in ('fsync', 'full_page_writes') and setting = 'off'
        order by name`;
      return rows.map(({ name }) => name);
    },
  };
}
