import { sql, type Kysely, type Migration } from 'kysely';

/** What is to be told to whom, until it is told; how the ways out are doing; links that take an alert. */
export const outbox: Migration = {
  async up(db: Kysely<unknown>): Promise<void> {
    // Who was told since the chain began: an alert handed on, resumed or become urgent begins it anew.
    await sql`alter table alert add column told uuid[] not null default '{}'`.execute(db);

    // `wanted_at`: when it should have gone; `due_at`: when it is tried next.
    // `key`: hash of alert, step, channel and recipient. `fence` grows with every claim: who holds an older one is too late.
    await sql`
      create table outbox (
        key          text primary key check (length(key) <= 32),
        kind         text not null,
        node_id      integer,
        number       integer,
        step         integer not null default 0,
        priority     text not null,
        account_id   uuid not null references account (id) on delete cascade,
        channel_id   uuid references channel (id) on delete cascade,
        channel_kind text,
        breaker      text,
        state        text not null,
        wanted_at    timestamptz not null,
        due_at       timestamptz not null,
        give_up_at   timestamptz not null,
        attempts     integer not null default 0,
        fence        bigint not null default 0,
        holder       text,
        leased_until timestamptz,
        body         jsonb not null check (jsonb_typeof(body) = 'object'),
        created_at   timestamptz not null,
        settled_at   timestamptz,
        error        text
      )`.execute(db);
    await sql`
      create unique index outbox_once on outbox (node_id, number, step, channel_id, account_id)
      where kind = 'call'`.execute(db);
    await sql`create index outbox_due on outbox (due_at) where state = 'due'`.execute(db);
    await sql`create index outbox_of_alert on outbox (node_id, number)`.execute(db);
    await sql`create index outbox_of_person on outbox (account_id, created_at)`.execute(db);

    await sql`
      create table channel_state (
        breaker    text primary key,
        failures   integer not null default 0,
        open_until timestamptz,
        error      text,
        failed_at  timestamptz,
        sent_at    timestamptz
      )`.execute(db);

    await sql`
      create table alert_link (
        token_hash bytea primary key,
        node_id    integer not null,
        number     integer not null,
        account_id uuid not null references account (id) on delete cascade,
        expires_at timestamptz not null,
        used_at    timestamptz
      )`.execute(db);
    await sql`create index alert_link_expiry on alert_link (expires_at)`.execute(db);
  },
};
