import { sql, type Kysely, type Migration } from 'kysely';

/** Limits of the quality tests that a part brings with it, beside those of its site and node. */
export const limitsOfParts: Migration = {
  async up(db: Kysely<unknown>): Promise<void> {
    // Of a part the name is its id.
    await sql`
      alter table quality_limits
        drop constraint quality_limits_scope_check,
        add constraint quality_limits_scope_check check (scope in ('site', 'node', 'part'))`.execute(
      db,
    );
    // Grows whenever limits change: a look that was made with those of before begins anew.
    await sql`alter table node_pulse add column limits_version integer not null default 0`.execute(
      db,
    );
  },
};
