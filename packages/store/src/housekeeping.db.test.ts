import { DAY_MS } from '@duskline/domain';
import { openTestStore } from '@duskline/test-harness';
import type postgres from 'postgres';
import { beforeAll, expect, it } from 'vitest';
import type { Store } from './store.ts';
import { createExampleNode, exampleMessage, exampleSample } from './testing/example-fleet.ts';

const startMs = Date.UTC(2026, 10, 1);
let store: Store;
let sql: postgres.Sql;
beforeAll(() => openTestStore((opened) => ({ store, sql } = opened)));

const ofSeq = (seq: number, receivedAtMs: number) =>
  exampleMessage('rushy-sluice', {
    receivedAtMs,
    place: { boot: 1, seq },
    samples: [exampleSample(startMs + seq * 1000, { batt_v: 12 })],
  });
const ledger = async () =>
  (await sql<{ seq: number }[]>`select seq from message order by seq`).map(({ seq }) => seq);

it('lets the ledger forget what the watermark remembers, once it is two days old, and doubles nothing', async () => {
  await createExampleNode(store, 'rushy-sluice');
  await store.samples.accept([ofSeq(1, startMs), ofSeq(2, startMs), ofSeq(5, startMs)]);
  await store.samples.accept([ofSeq(3, startMs + 2 * DAY_MS)]);
  // A number that the watermark has lost hold of stays in the ledger.
  await sql`update boot_watermark set seqs = '{[1,4)}'`;

  expect((await store.housekeeping.forget(startMs + DAY_MS)).ledgerRows).toBe(0);
  expect((await store.housekeeping.forget(startMs + 3 * DAY_MS)).ledgerRows).toBe(2);
  expect(await ledger()).toEqual([3, 5]);

  const redated = [1, 2, 3, 5].map((seq) => ({
    ...ofSeq(seq, startMs + 4 * DAY_MS),
    samples: [exampleSample(startMs + DAY_MS + seq, { batt_v: 9 })],
  }));
  const outcomes = await store.samples.accept(redated);
  expect(outcomes.map(({ kind }) => kind)).toEqual(Array(4).fill('duplicate'));
});

it('lets go of what was taken in a month ago, and keeps what waits', async () => {
  const add = (byte: number) =>
    store.quarantine.add({
      packet: { topic: 'v1/x-y-z/up/live', payload: new Uint8Array([byte]), receivedAtMs: startMs },
      fault: { code: 'json-malformed', reason: 'No JSON.' },
    });
  await add(1);
  await add(2);
  const [one] = await store.quarantine.recent(1);
  await store.quarantine.takenIn([one?.id ?? ''], startMs);
  expect((await store.housekeeping.forget(startMs + 29 * DAY_MS)).quarantineRows).toBe(0);
  expect((await store.housekeeping.forget(startMs + 31 * DAY_MS)).quarantineRows).toBe(1);
  expect(await store.quarantine.recent(10)).toHaveLength(1);
});
