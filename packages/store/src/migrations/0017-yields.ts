import { sql, type Kysely, type Migration } from 'kysely';

/** What share of a cloudless harvest each node had on each solar day: the measure by which weather is told from faults. */
export const yields: Migration = {
  async up(db: Kysely<unknown>): Promise<void> {
    await sql`
      create table yield_day (
        -- Days of local mean solar time since 1970.
        day     integer not null,
        node_id integer not null,
        yield   double precision not null,
        primary key (day, node_id)
      )`.execute(db);
  },
};
