import { sql, type Kysely, type Migration } from 'kysely';

/** Who is called when: people, the sites they look after, their channels, the rota, invitations; and who changed what. */
export const people: Migration = {
  async up(db: Kysely<unknown>): Promise<void> {
    await sql`
      alter table account
        add column phone        text not null default '',
        add column time_zone    text not null default 'UTC',
        add column quiet_from   integer not null default 1320 check (quiet_from between 0 and 1439),
        add column quiet_until  integer not null default 420 check (quiet_until between 0 and 1439),
        add column ended_at     timestamptz`.execute(db);

    await sql`
      create table site_group (
        id   uuid primary key default gen_random_uuid(),
        name text not null unique
      )`.execute(db);
    await sql`
      create table site_group_site (
        group_id uuid not null references site_group (id) on delete cascade,
        site_id  text not null references site (id),
        primary key (group_id, site_id)
      )`.execute(db);
    await sql`
      create table account_group (
        account_id uuid not null references account (id) on delete cascade,
        group_id   uuid not null references site_group (id) on delete cascade,
        primary key (account_id, group_id)
      )`.execute(db);

    // `keys` of a push subscription, or the secret a webhook is signed with.
    await sql`
      create table channel (
        id         uuid primary key default gen_random_uuid(),
        account_id uuid not null references account (id) on delete cascade,
        kind       text not null,
        address    text not null,
        keys       jsonb not null default '{}',
        position   integer not null default 0,
        fault      text,
        created_at timestamptz not null default now(),
        ended_at   timestamptz
      )`.execute(db);
    await sql`
      create unique index channel_in_use on channel (account_id, kind, address) where ended_at is null`.execute(
      db,
    );

    await sql`
      create table invitation (
        token_hash bytea primary key,
        id         uuid not null default gen_random_uuid() unique,
        email      text not null,
        name       text not null,
        role       text not null,
        groups     uuid[] not null default '{}',
        by         text not null,
        created_at timestamptz not null default now(),
        expires_at timestamptz not null,
        used_at    timestamptz
      )`.execute(db);

    // Local starts are text: they are times on a clock, and which instant they are follows from the zone.
    await sql`
      create table shift (
        id               uuid primary key default gen_random_uuid(),
        account_id       uuid not null references account (id) on delete cascade,
        group_id         uuid references site_group (id) on delete cascade,
        start_local      text not null,
        duration_minutes integer not null check (duration_minutes > 0),
        time_zone        text not null,
        recurrence       text not null default '',
        exceptions       text[] not null default '{}',
        ended_at         timestamptz
      )`.execute(db);
    await sql`
      create table shift_swap (
        shift_id    uuid not null references shift (id) on delete cascade,
        start_local text not null,
        to_id       uuid not null references account (id) on delete cascade,
        by          text not null,
        at          timestamptz not null,
        primary key (shift_id, start_local)
      )`.execute(db);

    await sql`
      alter table session
        add column created_at timestamptz not null default now(),
        add column seen_at    timestamptz not null default now()`.execute(db);
    await sql`
      alter table api_token add column id uuid not null default gen_random_uuid() unique`.execute(
      db,
    );

    await sql`
      create table audit (
        at      timestamptz not null,
        id      uuid not null default gen_random_uuid(),
        kind    text not null,
        by      text,
        ip      text,
        subject text not null default '',
        before  jsonb,
        after   jsonb,
        primary key (at, id)
      )`.execute(db);
  },
};
