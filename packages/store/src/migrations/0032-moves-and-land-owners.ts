import { sql, type Kysely, type Migration } from 'kysely';

/** Why a visit was moved stands with the visit, and whom to call stands with the site. */
export const movesAndLandOwners: Migration = {
  async up(db: Kysely<unknown>): Promise<void> {
    await sql`
      alter table visit add column moves jsonb not null default '[]' check (jsonb_typeof(moves) = 'array')`.execute(
      db,
    );
    await sql`
      alter table site add column land_owner jsonb check (jsonb_typeof(land_owner) = 'object')`.execute(
      db,
    );
  },
};
