import { sql, type Kysely, type Migration } from 'kysely';

/** What all servers of one database must share and nobody else may know, e.g. the key that push services know us by. */
export const serverSecrets: Migration = {
  async up(db: Kysely<unknown>): Promise<void> {
    await sql`
      create table server_secret (
        name    text primary key,
        value   text not null,
        made_at timestamptz not null default now()
      )`.execute(db);
  },
};
