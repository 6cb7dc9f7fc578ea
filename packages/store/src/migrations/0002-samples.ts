import { sql, type Kysely, type Migration } from 'kysely';

/** Readings as they came, and the ledger that keeps a message from coming in twice. */
export const samples: Migration = {
  async up(db: Kysely<unknown>): Promise<void> {
    // No foreign keys and no triggers here: this table takes tens of thousands of readings a second.
    await sql`
      create table sample (
        node_id      integer not null,
        observed_at  timestamptz not null,
        layout_id    integer not null,
        -- Null: synced. Else the place in timeQualities of the domain.
        time_quality smallint,
        received_at  timestamptz not null,
        "values"     double precision[] not null,
        -- Null: every value passed. Else one flag for each value.
        flags        smallint[],
        primary key (node_id, observed_at, layout_id)
      ) partition by range (observed_at)`.execute(db);

    // A table made apart and then attached asks for a lock that neither reading nor writing waits for.
    await sql`
      create function ensure_sample_month(month date) returns void language plpgsql as $$
      declare
        first_day date := date_trunc('month', month)::date;
        next_month date := (first_day + interval '1 month')::date;
        partition_name text := 'sample_' || to_char(first_day, 'YYYY_MM');
      begin
        if to_regclass(partition_name) is not null then return; end if;
        perform pg_advisory_xact_lock(hashtext('duskline'), hashtext('ensure_sample_month'));
        if to_regclass(partition_name) is not null then return; end if;
        execute format('create table %I (like sample including defaults)', partition_name);
        execute format('alter table sample attach partition %I for values from (%L) to (%L)',
          partition_name, first_day::timestamp at time zone 'UTC', next_month::timestamp at time zone 'UTC');
      exception
        -- An advisory lock does not refresh the catalogue cache: whoever held it before may have made the month unseen.
        when duplicate_table or unique_violation then return;
      end $$`.execute(db);

    await sql`
      create table message (
        node_id     integer not null,
        boot        integer not null,
        seq         integer not null,
        received_at timestamptz not null,
        primary key (node_id, boot, seq)
      )`.execute(db);

    // Every number accepted within a boot, as ranges: {[1,42)} means 1 to 41 without a gap.
    await sql`
      create table boot_watermark (
        node_id integer not null,
        boot    integer not null,
        seqs    int8multirange not null,
        primary key (node_id, boot)
      ) with (fillfactor = 50)`.execute(db);
  },
};
