import { sql, type Kysely, type Migration } from 'kysely';

/** What can be computed from samples, kept because it is asked for all the time. */
export const whatFollowsFromSamples: Migration = {
  async up(db: Kysely<unknown>): Promise<void> {
    await sql`
      create table node_pulse (
        node_id          integer primary key,
        first_heard_at   timestamptz,
        last_heard_at    timestamptz,
        last_live_at     timestamptz,
        last_received_at timestamptz,
        last_observed_at timestamptz,
        word             jsonb check (jsonb_typeof(word) = 'object'),
        word_at          timestamptz,
        -- Grows with everything stored of the node; a look at the node says which news it saw.
        news_version     bigint not null default 1,
        advanced_version bigint not null default 0,
        next_check_at    timestamptz not null default now(),
        -- Grows with everything a page shows of the node.
        view_version     bigint not null default 0,
        charge           jsonb check (jsonb_typeof(charge) = 'object')
      ) with (fillfactor = 50, autovacuum_vacuum_scale_factor = 0.05)`.execute(db);

    // By layout, not by metric: one row to write for a sample instead of one for each reading.
    await sql`
      create table node_latest (
        node_id     integer not null,
        layout_id   integer not null,
        observed_at timestamptz not null,
        "values"    double precision[] not null,
        primary key (node_id, layout_id)
      ) with (fillfactor = 50, autovacuum_vacuum_scale_factor = 0.05)`.execute(db);

    // An hour whose rollup must be computed again; news_version tells one marking from the next.
    await sql`
      create table stale_hour (
        node_id      integer not null,
        hour_start   timestamptz not null,
        news_version bigint not null,
        primary key (node_id, hour_start)
      ) with (fillfactor = 70, autovacuum_vacuum_scale_factor = 0.05)`.execute(db);

    // The day of a site: it begins at the whole hour nearest to mean solar midnight at its longitude.
    await sql`
      create function solar_day(at timestamptz, longitude_deg double precision) returns timestamptz
      language sql immutable parallel safe
      return date_bin('1 day', at, timestamptz '1970-01-01 00:00:00Z' - round(longitude_deg / 15) * interval '1 hour')`.execute(
      db,
    );

    for (const grain of ['hour', 'day'] as const) {
      const start = sql.ref(`${grain}_start`);
      // Quality: the flag the readings carry (1 = pass, after the QARTOD manuals). News_version keeps a
      // slow computation from overwriting a later one.
      await sql`
        create table ${sql.table(`rollup_${grain}`)} (
          node_id      integer not null,
          metric_id    smallint not null,
          quality      smallint not null default 1,
          count        integer not null check (count > 0),
          ${start}     timestamptz not null,
          sum          double precision not null,
          min          double precision not null,
          max          double precision not null,
          last         double precision not null,
          last_at      timestamptz not null,
          news_version bigint not null,
          primary key (node_id, metric_id, ${start}, quality)
        )`.execute(db);
    }
  },
};
