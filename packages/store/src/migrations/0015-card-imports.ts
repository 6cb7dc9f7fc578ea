import { sql, type Kysely, type Migration } from 'kysely';

/** What was brought home on memory cards: each import, what it added, and where card and air differ. */
export const cardImports: Migration = {
  async up(db: Kysely<unknown>): Promise<void> {
    await sql`
      create table card_import (
        id          integer generated always as identity primary key,
        node_id     integer not null,
        state       text not null check (state in ('open', 'storing', 'done', 'stopped')),
        by_name     text not null,
        created_at  timestamptz not null default now(),
        changed_at  timestamptz not null default now(),
        -- Names and sizes of the files, and how they were to be understood.
        files       jsonb not null check (jsonb_typeof(files) = 'array'),
        settings    jsonb not null default '{}' check (jsonb_typeof(settings) = 'object'),
        -- Readings.
        filled      bigint not null default 0,
        here        bigint not null default 0,
        conflicts   bigint not null default 0,
        repeated    bigint not null default 0,
        -- How its readings are told from those that come by air: kept for what comes by air later.
        merge_rule  jsonb check (jsonb_typeof(merge_rule) = 'object'),
        note        text
      )`.execute(db);
    await sql`create index card_import_recent on card_import (created_at desc)`.execute(db);

    // Null: came by air. A null costs a sample nothing: the eighth column still fits the byte of the null bitmap that
    // rows have for time_quality and flags (PostgreSQL documentation, 73.6.1: the bitmap has one bit a column).
    await sql`alter table sample add column card_import_id integer`.execute(db);

    // Of the samples of cards only: what comes by air never touches it.
    await sql`
      create index sample_of_card on sample (node_id, observed_at) where card_import_id is not null`.execute(
      db,
    );

    // A card's value where another one is kept: nothing that was brought is lost.
    await sql`
      create table card_conflict (
        node_id     integer not null,
        metric_id   smallint not null,
        observed_at timestamptz not null,
        card_value  double precision not null,
        kept_value  double precision not null,
        -- The last import that met it.
        import_id   integer not null,
        primary key (node_id, metric_id, observed_at, card_value)
      )`.execute(db);
    await sql`
      create index card_conflict_of_import on card_conflict (import_id, observed_at, metric_id)`.execute(
      db,
    );
  },
};
