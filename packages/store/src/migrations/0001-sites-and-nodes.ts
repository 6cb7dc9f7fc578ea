import { sql, type Kysely, type Migration } from 'kysely';

/** What people set up: small tables, read often, written by hand. */
export const sitesAndNodes: Migration = {
  async up(db: Kysely<unknown>): Promise<void> {
    await sql`
      create table site (
        id            text primary key,
        name          text not null,
        latitude_deg  double precision not null check (latitude_deg between -90 and 90),
        longitude_deg double precision not null check (longitude_deg between -180 and 180),
        elevation_m   double precision not null,
        time_zone     text not null,
        access        text not null,
        hazards       text not null
      )`.execute(db);

    // The id leads every hot key, so it is four bytes.
    await sql`
      create table node (
        id              integer generated always as identity primary key,
        name            text not null unique,
        site_id         text not null references site (id),
        secret_hash     bytea not null,
        power           jsonb not null check (jsonb_typeof(power) = 'object'),
        commissioned_at timestamptz not null,
        retired_at      timestamptz,
        off_for_work    jsonb check (jsonb_typeof(off_for_work) = 'object')
      )`.execute(db);
    await sql`create index node_of_site on node (site_id, commissioned_at)`.execute(db);

    // Filled by first use; an id never changes its meaning.
    await sql`
      create table metric (
        id  smallint primary key check (id > 0),
        key text not null unique
      )`.execute(db);
    await sql`
      create table layout (
        id         integer primary key check (id > 0),
        metric_ids smallint[] not null unique
      )`.execute(db);
  },
};
