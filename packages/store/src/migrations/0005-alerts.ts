import { sql, type Kysely, type Migration } from 'kysely';

/** Alerts, every step of their lives, and what the rules remember between two looks. */
export const alerts: Migration = {
  async up(db: Kysely<unknown>): Promise<void> {
    // Numbered within the node; "12-7" outside the store.
    await sql`
      create table alert (
        node_id   integer not null,
        number    integer not null,
        site_id   text not null,
        rule      text not null,
        priority  text not null,
        state     text not null,
        opened_at timestamptz not null,
        taken_at  timestamptz,
        taken_by  text,
        ended_at  timestamptz,
        text      jsonb not null check (jsonb_typeof(text) = 'object'),
        steps     integer not null default 1,
        primary key (node_id, number)
      )`.execute(db);
    await sql`
      create unique index alert_of_rule on alert (node_id, rule) where ended_at is null`.execute(
      db,
    );
    await sql`
      create index alert_to_act_on on alert (node_id) where state <> 'ended'`.execute(db);

    await sql`
      create table alert_change (
        node_id  integer not null,
        number   integer not null,
        step     integer not null,
        at       timestamptz not null,
        kind     text not null,
        state    text not null,
        priority text not null,
        by       text,
        why      text not null,
        primary key (node_id, number, step)
      )`.execute(db);

    await sql`
      create table rule_memory (
        node_id integer not null,
        rule    text not null,
        memory  jsonb not null check (jsonb_typeof(memory) = 'object'),
        primary key (node_id, rule)
      )`.execute(db);
  },
};
