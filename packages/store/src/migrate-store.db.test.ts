import { createTestDatabase } from '@duskline/test-harness';
import postgres from 'postgres';
import { describe, expect, it } from 'vitest';
import { migrateStore } from './migrate-store.ts';
import { migrations } from './migrations/index.ts';

describe('migrating', () => {
  it('brings an empty database up to date once, whoever else tries at the same moment', async () => {
    const database = await createTestDatabase({ migrated: false });
    await Promise.all(Array.from({ length: 5 }, () => migrateStore(database.url)));
    await migrateStore(database.url);
    const sql = postgres(database.url, { max: 1 });
    const done = await sql`select name from kysely_migration order by name`;
    await sql.end();
    await database.drop();
    expect(done.map((row) => row['name'] as string)).toEqual(Object.keys(migrations));
  });

  it('leaves no default partition and no trigger on what the intake writes', async () => {
    const database = await createTestDatabase();
    const sql = postgres(database.url, { max: 1 });
    const triggers = await sql`select tgname from pg_trigger where not tgisinternal`;
    const defaults =
      await sql`select partrelid::regclass from pg_partitioned_table where partdefid <> 0`;
    const hotKeys = await sql`
      select conrelid::regclass::text as name from pg_constraint
      where contype = 'f' and conrelid::regclass::text ~ '^(sample|message|stale|rollup|node_)'`;
    await sql.end();
    await database.drop();
    expect([triggers.length, defaults.length, hotKeys.length]).toEqual([0, 0, 0]);
  });
});
