import { sql, type Kysely, type Migration } from 'kysely';

/** Exports that were asked for: what was asked, what came of it, and where the file lies. */
export const exports: Migration = {
  async up(db: Kysely<unknown>): Promise<void> {
    await sql`
      create table export_job (
        id          integer generated always as identity primary key,
        account_id  uuid not null,
        by_name     text not null,
        -- The server that made it and has its file.
        holder      text not null,
        state       text not null check (state in ('running', 'done', 'failed', 'stopped')),
        query       jsonb not null check (jsonb_typeof(query) = 'object'),
        -- Readings that were received later are not in it: the same job gives the same file.
        made_at     timestamptz not null,
        -- Counts the exports of the same query.
        version     integer not null,
        finished_at timestamptz,
        expires_at  timestamptz not null,
        file_name   text not null,
        row_count   bigint,
        bytes       bigint,
        sha256      text,
        note        text
      )`.execute(db);
    await sql`create index export_job_recent on export_job (made_at desc)`.execute(db);
    await sql`create index export_job_of_query on export_job (md5(query::text))`.execute(db);
  },
};
