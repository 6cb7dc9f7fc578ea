import { sql, type Kysely, type Migration } from 'kysely';

/** The climate of a site: mean daily clearness of its twelve months, where somebody has entered it. */
export const siteClimate: Migration = {
  async up(db: Kysely<unknown>): Promise<void> {
    await sql`
      alter table site add column clearness double precision[] check (cardinality(clearness) = 12)`.execute(
      db,
    );
  },
};
