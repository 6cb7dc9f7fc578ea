import type { Sql } from 'postgres';
import type { LeaseRow, LeaseStore } from './lease-store.ts';

export function createLeaseStore(sql: Sql): LeaseStore {
  return {
    async take(name, holder, ttlMs) {
      const [row] = await sql<{ fence: number }[]>`
        insert into lease (name, holder, fence, expires_at)
        values (${name}, ${holder}, 1, clock_timestamp() + ${ttlMs}::float8 * interval '1 millisecond')
        on conflict (name) do update set
          holder = excluded.holder,
          fence = lease.fence + (lease.holder is distinct from excluded.holder)::integer,
          expires_at = excluded.expires_at
        where lease.holder is null or lease.holder = excluded.holder or lease.expires_at < clock_timestamp()
        returning fence`;
      return row && { fence: row.fence };
    },
    async renew(name, holder, ttlMs) {
      const rows = await sql`
        update lease set expires_at = clock_timestamp() + ${ttlMs}::float8 * interval '1 millisecond'
        where name = ${name} and holder = ${holder} and expires_at >= clock_timestamp()
        returning name`;
      return rows.length === 1;
    },
    async list(prefix) {
      return await sql<LeaseRow[]>`
        select name, case when expires_at >= clock_timestamp() then holder end as holder
        from lease
        where starts_with(name, ${prefix})
        order by name`;
    },
    async releaseAllOf(holderPrefix) {
      await sql`update lease set holder = null where starts_with(holder, ${holderPrefix})`;
    },
    async release(name, holder) {
      await sql`update lease set holder = null where name = ${name} and holder = ${holder}`;
    },
  };
}
