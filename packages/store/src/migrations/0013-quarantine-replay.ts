import { sql, type Kysely, type Migration } from 'kysely';

/** What a quarantined message needs to be taken in after all, and who came that is no node here. */
export const quarantineReplay: Migration = {
  async up(db: Kysely<unknown>): Promise<void> {
    await sql`
      alter table quarantine
        -- Its number stands in the watermark of its boot: the node was told that it is settled.
        add column settled boolean not null default false,
        add column taken_in_at timestamptz`.execute(db);
    await sql`
      create index quarantine_waiting on quarantine (last_received_at desc, id)
      where taken_in_at is null`.execute(db);
    await sql`
      create table unknown_node (
        name          text primary key,
        first_seen_at timestamptz not null,
        last_seen_at  timestamptz not null,
        times         bigint not null default 1
      )`.execute(db);
  },
};
