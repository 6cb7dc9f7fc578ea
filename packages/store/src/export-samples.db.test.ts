import { accountId, type NodeId } from '@duskline/domain';
import { createTestDatabase, type TestDatabase } from '@duskline/test-harness';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { openDatabase, type Database } from './database/open-database.ts';
import { createExportStore } from './export-samples.ts';
import type { ExportStore } from './export-store.ts';
import { openStore } from './open-store.ts';
import type { Store } from './store.ts';
import { createExampleNode } from './testing/example-fleet.ts';

const START = Date.UTC(2026, 10, 25);
let testing: TestDatabase;
let database: Database<unknown>;
let store: Store;
let reads: ExportStore;
let node: NodeId;

beforeAll(async () => {
  testing = await createTestDatabase();
  store = await openStore({ url: testing.url });
  database = openDatabase({ url: testing.url });
  reads = createExportStore(database.sql);
  const made = await createExampleNode(store, 'upper-weir');
  node = made.id;
  await store.samples.accept(
    Array.from({ length: 250 }, (_, i) => ({
      node: made.name,
      lane: 'backlog' as const,
      receivedAtMs: START + 1_000_000,
      place: { boot: 1, seq: i + 1 },
      samples: [
        {
          observedAtMs: START + i * 1000,
          metrics: ['batt_v' as const],
          values: [12 + i / 100],
          timeQuality: 'synced' as const,
        },
      ],
    })),
  );
});
afterAll(async () => {
  await database.close();
  await store.close();
  await testing.drop();
});

async function valuesOf(pauseMs = 0): Promise<string[]> {
  const values: string[] = [];
  const range = { fromMs: START, toMs: START + 1_000_000, receivedByMs: START + 2_000_000 };
  const { signal } = new AbortController();
  for await (const page of reads.samples(node, range, { pageRows: 100, signal })) {
    for (const sample of page) values.push(sample.values);
    await new Promise((resolve) => setTimeout(resolve, pauseMs));
  }
  return values;
}

describe('samples as an export reads them', () => {
  it('are whole for a reader that is slower than the database', async () => {
    expect(await valuesOf(50)).toHaveLength(250);
  });

  it('are whole after another stream failed half-way on the same connection', async () => {
    const expected = Array.from({ length: 250 }, (_, i) => `{${String(12 + i / 100)}}`);
    expect(await valuesOf()).toEqual(expected);
    // Both connections that cursors have break off after 49 rows of a page.
    await Promise.all(
      [1, 2].map(async () => {
        const rows = database.sql`select 1 / (50 - i) from generate_series(1, 100) i`.cursor(100);
        await expect(
          (async () => {
            for await (const _page of rows);
          })(),
        ).rejects.toThrow('division by zero');
      }),
    );
    expect(await valuesOf()).toEqual(expected);
    expect(await valuesOf()).toEqual(expected);
  });
});

describe('the version of an export', () => {
  const ask = (from: string) =>
    store.exportReads.jobs.create({
      accountId: accountId('00000000-0000-4000-8000-000000000001'),
      by: 'Analyst',
      holder: 'here',
      query: { from },
      madeAtMs: START,
      expiresAtMs: START + 1,
      fileName: 'zip',
    });

  it('is given once, also to two at once, and not again when its export is removed', async () => {
    const both = await Promise.all([ask('2026-01'), ask('2026-01')]);
    expect(both.map(({ version }) => version).sort()).toEqual([1, 2]);
    for (const { id } of both) await store.exportReads.jobs.remove(id);
    expect((await ask('2026-01')).version).toBe(3);
    expect((await ask('2026-02')).version).toBe(1);
  });
});
