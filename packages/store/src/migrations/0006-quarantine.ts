import { sql, type Kysely, type Migration } from 'kysely';

/** Messages that could not be accepted, whole: raw bytes, never what a parser made of them. */
export const quarantine: Migration = {
  async up(db: Kysely<unknown>): Promise<void> {
    await sql`
      create table quarantine (
        -- SHA-256 of topic, fault code and payload.
        id                bytea primary key,
        topic             text not null,
        node              text,
        code              text not null,
        reason            text not null,
        content_type      text,
        payload           bytea not null,
        first_received_at timestamptz not null,
        last_received_at  timestamptz not null,
        count             bigint not null default 1
      )`.execute(db);
    await sql`create index quarantine_recent on quarantine (last_received_at desc)`.execute(db);

    await sql`
      create table quarantine_day (
        node      text not null,
        day       date not null,
        -- Different messages of the day, those over the cap included.
        different integer not null,
        received  bigint not null,
        primary key (node, day)
      )`.execute(db);
  },
};
