import { sql, type Kysely, type Migration } from 'kysely';

/** Pictures of sites and their parts. Small ones, so they lie with all else and go where a backup goes. */
export const photos: Migration = {
  async up(db: Kysely<unknown>): Promise<void> {
    await sql`
      create table photo (
        id       bigint generated always as identity primary key,
        site_id  text not null references site (id),
        part_id  bigint references part (id),
        type     text not null check (type in ('image/jpeg', 'image/png')),
        bytes    bytea not null check (octet_length(bytes) between 1 and 2097152),
        caption  text not null,
        added_at timestamptz not null,
        added_by text not null
      )`.execute(db);
    // Pictures do not become smaller by compressing them again.
    await sql`alter table photo alter column bytes set storage external`.execute(db);
    await sql`create index photo_of_site on photo (site_id, added_at)`.execute(db);
  },
};
