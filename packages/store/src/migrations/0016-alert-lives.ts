import { sql, type Kysely, type Migration } from 'kysely';

/** The whole life of an alert, alerts about the fleet, the logbook, gaps somebody accepts, and settings of rules. */
export const alertLives: Migration = {
  async up(db: Kysely<unknown>): Promise<void> {
    // `joins`: number of the alert of the same node it belongs to. `next_call_at`: somebody is to be told then.
    await sql`
      alter table alert
        add column subject      text not null default '',
        add column joins        integer,
        add column taken_until  timestamptz,
        add column paused_until timestamptz,
        add column paused_by    text,
        add column pause_why    text,
        add column handed_to    text,
        add column handed_to_id uuid,
        add column called       integer not null default 0,
        add column next_call_at timestamptz,
        add constraint paused_with_an_end check (state <> 'paused' or paused_until is not null)`.execute(
      db,
    );
    await sql`drop index alert_of_rule`.execute(db);
    await sql`
      create unique index alert_of_rule on alert (node_id, rule, subject) where ended_at is null`.execute(
      db,
    );
    await sql`
      create index alert_to_call on alert (next_call_at) where next_call_at is not null`.execute(
      db,
    );
    await sql`
      create index alert_paused on alert (paused_until) where state = 'paused'`.execute(db);
    // For the health of the alerts: what was opened when.
    await sql`create index alert_opened on alert (opened_at)`.execute(db);

    await sql`alter table rule_memory add column subject text not null default ''`.execute(db);
    await sql`alter table rule_memory drop constraint rule_memory_pkey`.execute(db);
    await sql`alter table rule_memory add primary key (node_id, rule, subject)`.execute(db);

    await sql`
      create table diagnosis (
        node_id  integer not null,
        question text not null,
        made_at  timestamptz not null,
        body     jsonb not null check (jsonb_typeof(body) = 'object'),
        primary key (node_id, question)
      )`.execute(db);

    await sql`
      create table site_event (
        site_id  text not null,
        at       timestamptz not null,
        id       uuid not null default gen_random_uuid(),
        node_id  integer,
        kind     text not null,
        sentence text not null,
        by       text,
        primary key (site_id, at, id)
      )`.execute(db);

    await sql`
      create table accepted_gap (
        id         uuid primary key default gen_random_uuid(),
        site_id    text not null references site (id),
        from_at    timestamptz not null,
        until_at   timestamptz not null check (until_at > from_at),
        by         text not null,
        reason     text not null,
        ended_at   timestamptz,
        created_at timestamptz not null default now()
      )`.execute(db);
    await sql`create index accepted_gap_of_site on accepted_gap (site_id, until_at)`.execute(db);

    // Every change is kept; the newest of a place and setting counts. Null takes a setting back.
    await sql`
      create table rule_setting (
        scope   text not null check (scope in ('fleet', 'site', 'node')),
        subject text not null,
        rule    text not null,
        setting text not null,
        at      timestamptz not null,
        value   double precision,
        by      text not null,
        primary key (scope, subject, rule, setting, at)
      )`.execute(db);

    await sql`alter table site add column critical boolean not null default false`.execute(db);
    await sql`
      alter table node add column link text,
        add column data_plan jsonb check (jsonb_typeof(data_plan) = 'object')`.execute(db);
  },
};
