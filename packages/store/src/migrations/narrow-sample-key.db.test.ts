import { createTestDatabase } from '@duskline/test-harness';
import { Migrator } from 'kysely';
import postgres from 'postgres';
import { describe, expect, it } from 'vitest';
import { openDatabase } from '../database/open-database.ts';
import { migrateStore } from '../migrate-store.ts';
import { migrations } from './index.ts';

/** Every column, in the text of Postgres, so that nothing is rounded on the way. */
const all = (sql: postgres.Sql) => sql<Record<string, string | null>[]>`
  select node_id::text, observed_at::text, layout_id::text, time_quality::text, received_at::text, "values"::text as vals,
    flags::text, card_import_id::text
  from sample order by node_id, observed_at, layout_id`;

async function migrateTo(url: string, name: string): Promise<void> {
  const database = openDatabase<unknown>({ url, maxConnections: 2 });
  const provider = { getMigrations: () => Promise.resolve({ ...migrations }) };
  const { error } = await new Migrator({ db: database.kysely, provider }).migrateTo(name);
  await database.close();
  if (error !== undefined) throw new Error(`not migrated to ${name}`, { cause: error });
}

describe('the narrow key of samples', () => {
  it('takes every row of every month along, to the last digit', async () => {
    const database = await createTestDatabase({ migrated: false });
    await migrateTo(database.url, '0021-settings-requests');
    const sql = postgres(database.url, { max: 1, onnotice: () => undefined });
    await sql`select ensure_sample_month(month::date) from unnest(array['2025-12-01', '2026-01-01', '2026-03-01']) month`;
    await sql`
      insert into sample (node_id, observed_at, layout_id, time_quality, received_at, "values", flags, card_import_id)
      select node, timestamptz '2025-12-31 23:00Z' + minute * interval '61.5 s', 1 + minute % 2,
        case when minute % 7 = 0 then 3 end, timestamptz '2026-03-01Z' + minute * interval '1 s',
        array[minute / 3.0::float8, -0.1, 1e-300], case when minute % 5 = 0 then array[1, 3, 4] end,
        case when minute % 11 = 0 then 4 end
      from generate_series(0, 150) minute, generate_series(1, 3) node`;
    await sql`insert into sample (node_id, observed_at, layout_id, received_at, "values")
      values (9, '2026-03-31 23:59:59.999Z', 1, '2026-04-01Z', array[13.1])`;
    const before = await all(sql);
    await migrateStore(database.url);
    expect(await all(sql)).toEqual(before);
    expect(before).toHaveLength(3 * 151 + 1);
    const months = await sql`
      select inhrelid::regclass::text as name, pg_get_expr(relpartbound, pg_class.oid) as bound
      from pg_inherits join pg_class on pg_class.oid = inhrelid where inhparent = 'sample'::regclass order by 1`;
    expect(months.map((month) => month['name'] as string)).toEqual([
      'sample_2025_12',
      'sample_2026_01',
      'sample_2026_03',
    ]);
    // A month that is made afterwards fits beside them, and the key still keeps out what is there.
    await sql`select ensure_sample_month('2026-02-01'::date), ensure_sample_month('2026-03-01'::date)`;
    const again = await sql`
      insert into sample (node_id, observed_at, layout_id, received_at, "values")
      values (9, '2026-03-31 23:59:59.999Z', 1, '2026-04-02Z', array[0]), (9, '2026-02-02Z', 1, '2026-04-02Z', array[0])
      on conflict do nothing returning observed_at`;
    expect(again).toHaveLength(1);
    await sql.end();
    await database.drop();
  });

  it('keeps the pages of the key full while many nodes append in turn', async () => {
    const database = await createTestDatabase();
    const sql = postgres(database.url, { max: 1, onnotice: () => undefined });
    await sql`select ensure_sample_month('2026-02-01'::date)`;
    for (let i = 0; i < 60; i++)
      await sql`
        insert into sample (node_id, layout_id, observed_at, received_at, "values")
        select node, 1, timestamptz '2026-02-02Z' + step * interval '30 s', now(), array[1.5]
        from generate_series(${i * 50}::integer, ${i * 50 + 49}::integer) step, generate_series(1, 10) node
        order by step, node`;
    const [size] = await sql<{ bytes: number }[]>`
      select pg_relation_size('sample_2026_02_pkey')::float8 / count(*) as bytes from sample`;
    await sql.end();
    await database.drop();
    // 16 bytes of key, 8 of header and 4 of pointer (PostgreSQL documentation, "Database Page Layout") in pages of which 90 % are
    // filled: 31, and half as much again would mean pages that are half empty.
    expect(size?.bytes).toBeLessThan(36);
  });
});
