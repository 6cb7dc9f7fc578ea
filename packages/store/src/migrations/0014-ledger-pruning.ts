import { sql, type Kysely, type Migration } from 'kysely';

/** The ledger may forget what the watermark remembers: found by the time of receipt. */
export const ledgerPruning: Migration = {
  async up(db: Kysely<unknown>): Promise<void> {
    // One range of pages says when its rows came: a few kilobytes for millions of rows, because the ledger grows in that order.
    await sql`create index message_received on message using brin (received_at)`.execute(db);
  },
};
