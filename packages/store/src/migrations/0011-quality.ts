import { sql, type Kysely, type Migration } from 'kysely';

/** What is known of a reading beside its value, kept only where it is not the usual; and rollups that know directions. */
export const quality: Migration = {
  async up(db: Kysely<unknown>): Promise<void> {
    // Beside `sample`, not in it: a ninth column would make every row of that table eight bytes longer.
    await sql`
      create table sample_note (
        node_id     integer not null,
        observed_at timestamptz not null,
        layout_id   integer not null,
        -- Seconds since 1970 by the node's own clock, where it was wrong and the sample was dated anew.
        said_s      double precision,
        -- For each value which tests found fault with it: bits, by the place of the test in the domain's list.
        tests       integer[],
        primary key (node_id, observed_at, layout_id)
      )`.execute(db);

    // A stretch of a node's past in which readings came late: its intervals are to be told anew.
    await sql`
      create table tardy_past (
        node_id integer primary key,
        from_at timestamptz not null,
        to_at   timestamptz not null check (to_at > from_at)
      )`.execute(db);

    // A direction has no sum; the sums of its sines and cosines give the mean of hours, days and whatever is made of them.
    for (const grain of ['hour', 'day'] as const)
      await sql`
        alter table ${sql.table(`rollup_${grain}`)}
          add column east double precision,
          add column north double precision`.execute(db);

    // As before, but its version counts hours whatever their quality: readings that fail later must not be kept on.
    await sql`
      create or replace function refresh_charge_day(node integer, day timestamptz) returns void language sql
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
          coalesce(sum(told.news_version), 0)
        from generate_series(day, day + interval '23 hours', interval '1 hour') hour
        left join metric on metric.key = 'charge'
        left join rollup_hour gauge on gauge.node_id = node and gauge.metric_id = metric.id
          and gauge.hour_start = hour and gauge.quality = 1
        left join lateral (
          select max(any_quality.news_version) as news_version
          from rollup_hour any_quality
          where any_quality.node_id = node and any_quality.metric_id = metric.id and any_quality.hour_start = hour
        ) told on true
        left join charge_hour estimate on estimate.node_id = node and estimate.hour_start = hour
        on conflict (node_id, day_start) do update
          set hours = excluded.hours, news_version = excluded.news_version
          where charge_day.news_version <= excluded.news_version;
      end`.execute(db);
  },
};
