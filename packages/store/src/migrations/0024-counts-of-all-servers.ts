import { sql, type Kysely, type Migration } from 'kysely';

/** What several servers must count together: attempts to sign in, and the versions of an export. */
export const countsOfAllServers: Migration = {
  async up(db: Kysely<unknown>): Promise<void> {
    // Keys are hashes: what somebody typed as an address is kept by nobody. Rows live for a minute.
    await sql`
      create table sign_in_try (
        key bytea not null,
        at  timestamptz not null
      )`.execute(db);
    await sql`create index sign_in_try_key on sign_in_try (key, at desc)`.execute(db);

    // One after the other, whichever server asks: two that count at once would both let the last one in.
    await sql`
      create function admit_sign_in(keys bytea[], mosts integer[], span interval, asked_at timestamptz)
      returns double precision language plpgsql as $$
      declare
        oldest timestamptz;
        wait interval := interval '0';
      begin
        perform pg_advisory_xact_lock(hashtext('duskline'), hashtext('admit_sign_in'));
        delete from sign_in_try where at <= asked_at - span;
        for i in 1 .. cardinality(keys) loop
          oldest := null;
          select at into oldest from sign_in_try
          where key = keys[i] order by at desc offset mosts[i] - 1 limit 1;
          if oldest is not null then wait := greatest(wait, oldest + span - asked_at); end if;
        end loop;
        if wait > interval '0' then return extract(epoch from wait) * 1000; end if;
        insert into sign_in_try select key, asked_at from unnest(keys) key;
        return 0;
      end $$`.execute(db);

    // A number once given is never given again, also when its export is removed or two are asked for at once.
    await sql`
      create table export_version (
        query_md5 text primary key,
        last      integer not null
      )`.execute(db);
    await sql`
      insert into export_version
      select md5(query::text), max(version) from export_job group by md5(query::text)`.execute(db);
  },
};
