import { sql, type Kysely, type Migration } from 'kysely';

/** What was concluded about a node, and when. */
export const statesAndOutlooks: Migration = {
  async up(db: Kysely<unknown>): Promise<void> {
    // Intervals of a node follow each other without gap or overlap.
    await sql`
      create table node_interval (
        node_id    integer not null,
        from_at    timestamptz not null,
        to_at      timestamptz check (to_at > from_at),
        state      text not null,
        cause      text not null,
        settled_by text,
        evidence   jsonb not null check (jsonb_typeof(evidence) = 'array'),
        primary key (node_id, from_at)
      )`.execute(db);
    await sql`
      create unique index node_interval_open on node_interval (node_id) where to_at is null`.execute(
      db,
    );

    // The fan is what weighs, and only the newest are drawn: it lies apart and is dropped first.
    await sql`
      create table outlook (
        node_id      integer not null,
        issued_at    timestamptz not null,
        hindcast     boolean not null,
        dark         boolean not null,
        kind         text not null,
        horizon_days double precision not null,
        p10_days     double precision,
        p50_days     double precision,
        p90_days     double precision,
        dark_within_3_days  double precision,
        dark_within_7_days  double precision,
        dark_within_14_days double precision,
        model        text not null,
        body         jsonb not null check (jsonb_typeof(body) = 'object'),
        fan          jsonb check (jsonb_typeof(fan) = 'object'),
        primary key (node_id, issued_at, hindcast)
      )`.execute(db);

    await sql`
      create index outlook_with_fan on outlook (node_id, issued_at) where fan is not null`.execute(
      db,
    );

    // For nodes without a gauge: what was made of their voltage, hour by hour.
    await sql`
      create table charge_hour (
        node_id    integer not null,
        hour_start timestamptz not null,
        ratio      double precision not null,
        low_ratio  double precision not null,
        high_ratio double precision not null,
        method     text not null,
        primary key (node_id, hour_start)
      )`.execute(db);

    // What a row of the fleet page draws: a UTC day of a node's charge in hundredths of a per cent, hour by hour,
    // by its gauge or else as estimated. One row instead of twenty-four, so that a thousand weeks are read at once.
    await sql`
      create table charge_day (
        node_id      integer not null,
        day_start    timestamptz not null,
        hours        smallint[] not null check (cardinality(hours) = 24),
        news_version bigint not null,
        primary key (node_id, day_start)
      ) with (fillfactor = 70)`.execute(db);
    await sql`
      create function refresh_charge_day(node integer, day timestamptz) returns void language sql
      begin atomic
        insert into charge_day (node_id, day_start, hours, news_version)
        select node, day,
          array_agg(
            case
              when gauge.count is not null then least(greatest(gauge.sum / gauge.count, 0), 100) * 100
              else estimate.ratio * 10000
            end::smallint
            order by hour
          ),
          coalesce(sum(gauge.news_version), 0)
        from generate_series(day, day + interval '23 hours', interval '1 hour') hour
        left join metric on metric.key = 'charge'
        left join rollup_hour gauge on gauge.node_id = node and gauge.metric_id = metric.id
          and gauge.hour_start = hour and gauge.quality = 1
        left join charge_hour estimate on estimate.node_id = node and estimate.hour_start = hour
        on conflict (node_id, day_start) do update
          set hours = excluded.hours, news_version = excluded.news_version
          where charge_day.news_version <= excluded.news_version;
      end`.execute(db);
  },
};
