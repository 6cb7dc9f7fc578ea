import { parseNodeName, type NodeName } from '@duskline/domain';
import { openTestStore } from '@duskline/test-harness';
import { beforeAll, describe, expect, it } from 'vitest';
import { KEPT_PER_NODE_AND_DAY } from './keep-aside.ts';
import type { Store } from './store.ts';
import { createExampleNode, exampleMessage, exampleSample } from './testing/example-fleet.ts';

const startMs = Date.UTC(2026, 10, 25, 7);
const fault = { code: 'json-malformed', reason: 'Byte 3 is no JSON.' };
let store: Store;
beforeAll(() => openTestStore((opened) => ({ store } = opened)));

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
      entries.map(({ id: _, payload, firstReceivedAtMs: _first, settled: _settled, ...entry }) => ({
        ...entry,
        bytes: [...payload],
      })),
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
      await Promise.all(payloads.splice(0, 100).map((payload) => add('otter-stones', payload)));
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

  it('settles the number of a kept message, so that its node does not wait for it for ever', async () => {
    const node = await createExampleNode(store, 'rushy-sluice');
    const ofSeq = (seq: number, receivedAtMs = startMs) =>
      exampleMessage('rushy-sluice', {
        receivedAtMs,
        place: { boot: 1, seq },
        samples: [exampleSample(receivedAtMs + seq * 1000, { batt_v: 12 })],
      });
    await store.samples.accept([ofSeq(1), ofSeq(3)]);
    const keep = () =>
      store.quarantine.add({
        packet: {
          topic: 'v1/rushy-sluice/up/live',
          payload: new Uint8Array([7]),
          receivedAtMs: startMs,
        },
        node: node.name,
        fault,
        place: { boot: 1, seq: 2 },
      });
    expect(await keep()).toEqual({ boot: 1, seq: 3 });
    expect(await keep()).toEqual({ boot: 1, seq: 3 });

    // By air the number is taken now; by replay it comes in once, whatever the time it is dated at.
    expect(await store.samples.accept([ofSeq(2)])).toMatchObject([{ kind: 'duplicate' }]);
    const again = { settledBefore: true };
    expect(await store.samples.accept([ofSeq(2)], again)).toMatchObject([{ kind: 'stored' }]);
    const later = ofSeq(2, startMs + 60_000);
    expect(await store.samples.accept([later], again)).toMatchObject([{ kind: 'duplicate' }]);
  });

  it('counts by reason and by node, and tells what was taken in from what waits', async () => {
    await createExampleNode(store, 'sum-tarn');
    const before = await store.quarantine.summary();
    await add('sum-tarn', new Uint8Array([1]), { code: 'unit-odd' });
    await add('sum-tarn', new Uint8Array([1]), { code: 'unit-odd' });
    await add('sum-tarn', new Uint8Array([2]), { code: 'unit-odd' });
    const filter = { node: 'sum-tarn' as NodeName, code: 'unit-odd' };
    const entries = await store.quarantine.list(filter, { limit: 10 });
    expect(entries).toHaveLength(2);
    const during = await store.quarantine.summary();
    expect(during.byCode).toContainEqual({ code: 'unit-odd', kept: 2, received: 3 });
    expect(during.byNode).toContainEqual({ node: 'sum-tarn', kept: 2, received: 3 });
    expect(during.kept - before.kept).toBe(2);
    expect(during.overCap).toBe(25);

    const [first, second] = entries;
    await store.quarantine.refusedAgain(second?.id ?? '', {
      code: 'unit-odd',
      reason: 'Still odd.',
    });
    await store.quarantine.takenIn([first?.id ?? ''], startMs + 5);
    expect(await store.quarantine.list(filter, { limit: 10 })).toMatchObject([
      { id: second?.id, fault: { reason: 'Still odd.' } },
    ]);
    const all = await store.quarantine.list({ ...filter, waiting: false }, { limit: 10 });
    expect(all.map((entry) => entry.takenInAtMs)).toContain(startMs + 5);
  });

  it('pages through everything, each entry once', async () => {
    const filter = { node: 'otter-stones' as NodeName };
    const seen = new Set<string>();
    let after: { receivedAtMs: number; id: string } | undefined;
    for (;;) {
      const page = await store.quarantine.list(filter, {
        limit: 3000,
        ...(after === undefined ? {} : { after }),
      });
      for (const entry of page) seen.add(entry.id);
      after = page.at(-1);
      if (page.length < 3000) break;
    }
    expect(seen.size).toBe(KEPT_PER_NODE_AND_DAY + 1);
  });

  it('remembers who came that is no node here, until it is one', async () => {
    const stranger = 'no-node-yet' as NodeName;
    await store.quarantine.noteUnknownNode(stranger, startMs);
    await store.quarantine.noteUnknownNode(stranger, startMs + 9);
    expect(await store.quarantine.unknownNodes(10)).toEqual([
      { name: stranger, firstSeenAtMs: startMs, lastSeenAtMs: startMs + 9, times: 2 },
    ]);
    await createExampleNode(store, stranger);
    expect(await store.quarantine.unknownNodes(10)).toEqual([]);
  });
});
