import { sql, type Kysely, type Migration } from 'kysely';

/** A state that is over is told in words about its own time, not in those that were true while it lasted. */
export const wordsThatHoldAfterwards: Migration = {
  async up(db: Kysely<unknown>): Promise<void> {
    await sql`alter table node_interval add column afterwards text`.execute(db);
    await sql`
      update node_interval set cause = 'Its readings of this time are there.'
      where to_at is not null and state = 'up'
        and (cause like 'It is sending right now%' or cause like 'Heard lately%')`.execute(db);
  },
};
