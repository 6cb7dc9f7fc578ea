import { sql, type Kysely, type Migration } from 'kysely';

/** What nodes were asked to do otherwise, and what they say they do. */
export const settingsRequests: Migration = {
  async up(db: Kysely<unknown>): Promise<void> {
    await sql`
      create table settings_request (
        id              text primary key check (id ~ '^[A-Za-z0-9_-]{1,64}$'),
        node_id         integer not null references node (id),
        log_every_s     integer check (log_every_s between 1 and 86400),
        publish_every_s integer check (publish_every_s between 1 and 86400),
        thrift_until    timestamptz,
        asked_at        timestamptz not null,
        asked_by        text not null,
        answered_at     timestamptz,
        refusal         text
      )`.execute(db);
    await sql`create index settings_request_of_node on settings_request (node_id, asked_at desc)`.execute(
      db,
    );
    // The id is the node's word: it may be of a request this server never made.
    await sql`
      create table settings_in_force (
        node_id         integer primary key references node (id),
        request_id      text not null,
        log_every_s     integer not null,
        publish_every_s integer not null,
        thrift_until    timestamptz,
        refusal         text,
        said_at         timestamptz not null
      )`.execute(db);
  },
};
