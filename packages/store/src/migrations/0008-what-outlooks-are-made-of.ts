import { sql, type Kysely, type Migration } from 'kysely';

/** What an outlook is made of, so that each can be made again: what was learnt, what came from outside, what was read. */
export const whatOutlooksAreMadeOf: Migration = {
  async up(db: Kysely<unknown>): Promise<void> {
    // One row each time something more was learnt; the newest stands, older ones explain older outlooks.
    await sql`
      create table learnt_state (
        node_id   integer not null,
        learnt_at timestamptz not null,
        body      jsonb not null check (jsonb_typeof(body) = 'object'),
        primary key (node_id, learnt_at)
      )`.execute(db);

    await sql`
      create table learnt_reset (
        id       bigint generated always as identity primary key,
        node_id  integer not null,
        part     text not null,
        since_at timestamptz not null,
        reset_at timestamptz not null,
        reset_by text not null,
        why      text not null
      )`.execute(db);
    await sql`create index learnt_reset_of_node on learnt_reset (node_id, reset_at)`.execute(db);

    await sql`
      create table outside_forecast (
        id          bigint generated always as identity primary key,
        site_id     text not null references site (id),
        source      text not null,
        issued_at   timestamptz not null,
        received_at timestamptz not null,
        received_by text not null,
        body        jsonb not null check (jsonb_typeof(body) = 'object'),
        unique (site_id, source, issued_at)
      )`.execute(db);
    await sql`create index outside_forecast_newest on outside_forecast (site_id, issued_at)`.execute(
      db,
    );

    // A UTC day of a node's hourly past as it was known, by its digest: sixty outlooks in a row share all but two of sixty.
    await sql`
      create table history_day (
        node_id  integer not null,
        digest   uuid not null,
        hours    smallint not null check (hours between 1 and 24),
        "values" double precision[] not null,
        primary key (node_id, digest)
      )`.execute(db);

    await sql`
      create table outlook_input (
        node_id       integer not null,
        issued_at     timestamptz not null,
        hindcast      boolean not null,
        history_start timestamptz not null,
        history       uuid[] not null,
        learnt_at     timestamptz,
        outside_id    bigint,
        -- Position, power, charge, dark, seed, recalibration.
        facts         jsonb not null check (jsonb_typeof(facts) = 'object'),
        primary key (node_id, issued_at, hindcast)
      )`.execute(db);
    await sql`
      create index outlook_input_from_outside on outlook_input (outside_id, issued_at) where outside_id is not null`.execute(
      db,
    );
  },
};
