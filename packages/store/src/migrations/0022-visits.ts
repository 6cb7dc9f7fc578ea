import { sql, type Kysely, type Migration } from 'kysely';

/** Visits to sites with the steps people report of them, and the calendars people subscribe to. */
export const visits: Migration = {
  async up(db: Kysely<unknown>): Promise<void> {
    // Columns after `made_at` follow from the steps; they are kept beside them so that they can be asked for.
    await sql`
      create table visit (
        id          uuid primary key,
        site_id     text not null references site (id),
        round_id    uuid,
        place       integer not null default 0,
        planned_at  timestamptz not null,
        person_id   uuid not null references account (id),
        why         text not null,
        planned_by  text not null,
        made_at     timestamptz not null,
        state       text not null default 'planned',
        set_out_at  timestamptz,
        back_by     timestamptz,
        back_at     timestamptz,
        work        jsonb,
        verdict_48h jsonb check (jsonb_typeof(verdict_48h) = 'object'),
        verdict_14d jsonb check (jsonb_typeof(verdict_14d) = 'object')
      )`.execute(db);
    await sql`create index visit_of_site on visit (site_id, planned_at)`.execute(db);
    await sql`create index visit_planned on visit (planned_at)`.execute(db);
    await sql`create index visit_out on visit (site_id) where state = 'under-way'`.execute(db);
    await sql`
      create index visit_to_judge on visit (back_at)
      where state = 'done' and (verdict_48h is null or verdict_14d is null)`.execute(db);

    // The id is made on the phone: what was sent twice is kept once.
    await sql`
      create table visit_step (
        visit_id    uuid not null references visit (id) on delete cascade,
        id          uuid not null,
        at          timestamptz not null,
        received_at timestamptz not null,
        by          text not null,
        body        jsonb not null check (jsonb_typeof(body) = 'object'),
        primary key (visit_id, id)
      )`.execute(db);

    await sql`
      create table calendar_feed (
        account_id uuid primary key references account (id) on delete cascade,
        token_hash bytea not null unique,
        made_at    timestamptz not null
      )`.execute(db);
  },
};
