import { sql, type Kysely, type Migration } from 'kysely';

/** Who may come in, and which of several servers does what. */
export const accountsAndLeases: Migration = {
  async up(db: Kysely<unknown>): Promise<void> {
    await sql`
      create table account (
        id            uuid primary key default gen_random_uuid(),
        email         text not null,
        name          text not null,
        role          text not null,
        password_hash text not null,
        created_at    timestamptz not null default now()
      )`.execute(db);
    await sql`create unique index account_email on account (lower(email))`.execute(db);

    await sql`
      create table session (
        token_hash bytea primary key,
        account_id uuid not null references account (id) on delete cascade,
        expires_at timestamptz not null
      )`.execute(db);
    await sql`create index session_expiry on session (expires_at)`.execute(db);

    await sql`
      create table api_token (
        token_hash bytea primary key,
        account_id uuid not null references account (id) on delete cascade,
        name       text not null,
        created_at timestamptz not null default now(),
        expires_at timestamptz
      )`.execute(db);

    await sql`
      create table lease (
        name       text primary key,
        holder     text,
        fence      bigint not null,
        expires_at timestamptz not null
      )`.execute(db);
  },
};
