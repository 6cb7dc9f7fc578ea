import { sql, type Kysely, type Migration } from 'kysely';

/** Parts of a site: written by hand, never deleted, so that a serial keeps its story. */
export const parts: Migration = {
  async up(db: Kysely<unknown>): Promise<void> {
    await sql`
      create table part (
        id          bigint generated always as identity primary key,
        site_id     text not null references site (id),
        kind        text not null check (kind in ('panel', 'battery', 'charger', 'sensor', 'radio', 'board')),
        serial      text not null,
        maker       text not null,
        fitted_at   timestamptz not null,
        removed_at  timestamptz check (removed_at >= fitted_at),
        rated       jsonb not null check (jsonb_typeof(rated) = 'object'),
        calibration jsonb check (jsonb_typeof(calibration) = 'object'),
        notes       text not null,
        replaced_by bigint references part (id)
      )`.execute(db);
    await sql`create index part_of_site on part (site_id, kind, fitted_at)`.execute(db);
    // The same thing cannot be in two places, or twice in one. Parts without a legible serial are not compared.
    await sql`
      create unique index part_in_one_place on part (kind, maker, serial)
      where removed_at is null and serial <> ''`.execute(db);
  },
};
