import type { MessageFault, NodeName } from '@duskline/domain';
import { openTestStore } from '@duskline/test-harness';
import { beforeAll, describe, expect, it } from 'vitest';
import { KEPT_PER_NODE_AND_DAY } from './keep-aside.ts';
import type { Store } from './store.ts';
import { createExampleNode } from './testing/example-fleet.ts';

const atMs = Date.UTC(2026, 10, 26, 12);
const fault: MessageFault = { code: 'json-malformed', reason: 'No JSON.' };
let store: Store;
beforeAll(() => openTestStore((opened) => ({ store } = opened)));

const bad = (
  node: string,
  text: string,
  more: { seq?: number; boot?: number; ms?: number } = {},
) => ({
  node: node as NodeName,
  fault,
  packet: {
    topic: `v1/${node}/up/live`,
    payload: new TextEncoder().encode(text),
    receivedAtMs: more.ms ?? atMs,
  },
  ...(more.seq === undefined ? {} : { place: { boot: more.boot ?? 1, seq: more.seq } }),
});
const kept = async (node: string) =>
  (await store.quarantine.list({ node: node as NodeName }, { limit: 20_000 })).map(
    ({ payload, count, settled }) => [Buffer.from(payload).toString(), count, settled],
  );

describe('several bad messages in one commit', () => {
  it('are kept each whole, and those that are the same counted, in the batch and from before', async () => {
    await createExampleNode(store, 'rushy-sluice');
    await store.quarantine.add(bad('rushy-sluice', 'a'));
    await store.quarantine.addAll([
      bad('rushy-sluice', 'b', { ms: atMs + 1000 }),
      bad('rushy-sluice', 'a', { ms: atMs + 2000 }),
      bad('rushy-sluice', 'b', { ms: atMs + 3000 }),
      bad('rushy-sluice', 'c\u0000d', { ms: atMs + 500 }),
    ]);
    expect(await kept('rushy-sluice')).toEqual([
      ['b', 2, false],
      ['a', 2, false],
      ['c\u0000d', 1, false],
    ]);
    const [b] = await store.quarantine.list({ node: 'rushy-sluice' as NodeName }, { limit: 1 });
    expect([b?.firstReceivedAtMs, b?.receivedAtMs]).toEqual([atMs + 1000, atMs + 3000]);
    expect(await store.quarantine.count()).toBe(5);
  });

  it('settle their places, each answered with how far its boot is settled then', async () => {
    await createExampleNode(store, 'tarn-gill');
    const places = await store.quarantine.addAll([
      bad('tarn-gill', '1', { seq: 1 }),
      bad('tarn-gill', '3', { seq: 3 }),
      bad('tarn-gill', 'no place'),
      bad('tarn-gill', 'other boot', { seq: 5, boot: 2 }),
      bad('tarn-gill', '2', { seq: 2 }),
      bad('nobody-here', 'of no node', { seq: 1 }),
    ]);
    expect(places).toEqual([
      { boot: 1, seq: 3 },
      { boot: 1, seq: 3 },
      undefined,
      undefined,
      { boot: 1, seq: 3 },
      undefined,
    ]);
    expect(new Map((await kept('tarn-gill')).map(([text, , settled]) => [text, settled]))).toEqual(
      new Map([
        ['1', true],
        ['2', true],
        ['3', true],
        ['no place', false],
        ['other boot', true],
      ]),
    );
    expect(await kept('nobody-here')).toEqual([['of no node', 1, false]]);
  });

  it('are kept up to the cap of a day and counted above it, wherever in a batch it is reached', async () => {
    await createExampleNode(store, 'long-moss');
    const many = (from: number, to: number, ms = atMs) =>
      Array.from({ length: to - from }, (_, i) => bad('long-moss', `m${from + i}`, { ms }));
    for (let from = 0; from < KEPT_PER_NODE_AND_DAY - 100; from += 990)
      await store.quarantine.addAll(many(from, Math.min(from + 990, KEPT_PER_NODE_AND_DAY - 100)));
    await store.quarantine.addAll([
      ...many(KEPT_PER_NODE_AND_DAY - 100, KEPT_PER_NODE_AND_DAY + 40),
      // Another day has its own cap.
      ...many(20_000, 20_003, atMs + 86_400_000),
      ...many(0, 1),
    ]);
    const texts = (await kept('long-moss')).map(([text]) => text);
    expect(texts).toHaveLength(KEPT_PER_NODE_AND_DAY + 3);
    expect(texts).toContain(`m${KEPT_PER_NODE_AND_DAY - 1}`);
    expect(texts).not.toContain(`m${KEPT_PER_NODE_AND_DAY}`);
    expect((await store.quarantine.summary()).overCap).toBe(40);
  });

  it('are kept all or none', async () => {
    await createExampleNode(store, 'cold-spout');
    await expect(
      store.quarantine.addAll([
        bad('cold-spout', 'fine'),
        bad('cold-spout', 'from another age', { ms: Number.NaN }),
      ]),
    ).rejects.toThrow();
    expect(await kept('cold-spout')).toEqual([]);
  });
});
