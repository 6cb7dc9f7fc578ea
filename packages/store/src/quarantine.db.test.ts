import { parseNodeName, type NodeName } from '@duskline/domain';
import { createTestDatabase, type TestDatabase } from '@duskline/test-harness';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { openStore } from './open-store.ts';
import { KEPT_PER_NODE_AND_DAY } from './quarantine.ts';
import type { Store } from './store.ts';

const startMs = Date.UTC(2026, 10, 25, 7);
const fault = { code: 'json-malformed', reason: 'Byte 3 is no JSON.' };
let database: TestDatabase;
let store: Store;
beforeAll(async () => {
  database = await createTestDatabase();
  store = await openStore({ url: database.url });
});
afterAll(async () => {
  await store.close();
  await database.drop();
});

const add = (node: string, payload: Uint8Array, over: { atMs?: number; code?: string } = {}) =>
  store.quarantine.add({
    packet: {
      topic: `v1/${node}/up/live`,
      payload,
      receivedAtMs: over.atMs ?? startMs,
      contentType: 'application/senml+json',
    },
    ...(parseNodeName(node) === undefined ? {} : { node: node as NodeName }),
    fault: { ...fault, code: over.code ?? fault.code },
  });

describe('quarantine', () => {
  it('keeps every byte, and counts the same bytes up instead of keeping them twice', async () => {
    const bytes = Uint8Array.from({ length: 256 }, (_, index) => index);
    await add('tarn-gill', bytes);
    await Promise.all([
      add('tarn-gill', bytes, { atMs: startMs + 5000 }),
      add('tarn-gill', bytes, { atMs: startMs + 1000 }),
    ]);
    await add('tarn-gill', bytes, { atMs: startMs - 1000, code: 'unit-wrong' });
    const entries = await store.quarantine.recent(10);
    expect(
      entries.map(({ id: _, payload, ...entry }) => ({ ...entry, bytes: [...payload] })),
    ).toEqual([
      {
        receivedAtMs: startMs + 5000,
        topic: 'v1/tarn-gill/up/live',
        node: 'tarn-gill',
        fault,
        contentType: 'application/senml+json',
        count: 3,
        bytes: [...bytes],
      },
      {
        receivedAtMs: startMs - 1000,
        topic: 'v1/tarn-gill/up/live',
        node: 'tarn-gill',
        fault: { ...fault, code: 'unit-wrong' },
        contentType: 'application/senml+json',
        count: 1,
        bytes: [...bytes],
      },
    ]);
    expect(await store.quarantine.count()).toBe(4);
  });

  it('keeps the first of a day and only counts the rest, so that no node can fill the disk', async () => {
    const before = await store.quarantine.count();
    const flood = KEPT_PER_NODE_AND_DAY + 25;
    const payloads = Array.from({ length: flood }, (_, index) =>
      new TextEncoder().encode(`${index}`),
    );
    while (payloads.length > 0)
      await Promise.all(payloads.splice(0, 50).map((payload) => add('otter-stones', payload)));
    const kept = await store.quarantine.recent(2 * flood);
    expect(kept.filter((entry) => entry.node === 'otter-stones')).toHaveLength(
      KEPT_PER_NODE_AND_DAY,
    );
    expect((await store.quarantine.count()) - before).toBe(flood);
    // Another day, another node: not held back.
    await add('otter-stones', new Uint8Array([9]), { atMs: startMs + 86_400_000 });
    await add('X', new Uint8Array([9]), { atMs: startMs + 86_400_001 });
    const [nameless, nextDay] = await store.quarantine.recent(2);
    expect([nameless?.topic, nameless?.node, nextDay?.node]).toEqual([
      'v1/X/up/live',
      undefined,
      'otter-stones',
    ]);
  });
});
