import { MINUTE_MS } from '@duskline/domain';
import { openTestStore } from '@duskline/test-harness';
import { beforeAll, describe, expect, it } from 'vitest';
import type { Store } from './store.ts';
import { createExampleNode, exampleMessage } from './testing/example-fleet.ts';

const startMs = Date.UTC(2026, 10, 25, 7);
let store: Store;
beforeAll(() => openTestStore((opened) => ({ store } = opened)));

describe('the word that is kept of a node', () => {
  it('is back when it speaks after its link broke, though its hello tells of a boot before that', async () => {
    const node = await createExampleNode(store, 'cold-spout-2');
    const wordAt = (minute: number, kind: 'hello' | 'dropped', receivedMinute = minute) =>
      exampleMessage('cold-spout-2', {
        receivedAtMs: startMs + receivedMinute * MINUTE_MS,
        word: { kind, atMs: startMs + minute * MINUTE_MS },
      });
    const lastKind = async () => (await store.nodes.facts(node.id)).lastWord?.kind;
    await store.samples.accept([wordAt(10, 'dropped')]);
    expect(await lastKind()).toBe('dropped');
    await store.samples.accept([wordAt(9, 'hello', 11)]);
    expect(await lastKind()).toBe('hello');
    // It drops again, and both words come in one batch, in either order.
    await store.samples.accept([wordAt(20, 'dropped'), wordAt(19, 'hello', 21)]);
    expect(await lastKind()).toBe('hello');
    await store.samples.accept([wordAt(30, 'hello', 31), wordAt(32, 'dropped')]);
    expect(await lastKind()).toBe('dropped');
    // A farewell of before, delivered late, does not undo the hello that came first.
    await store.samples.accept([wordAt(40, 'hello')]);
    await store.samples.accept([
      exampleMessage('cold-spout-2', {
        receivedAtMs: startMs + 41 * MINUTE_MS,
        word: { kind: 'farewell', atMs: startMs + 35 * MINUTE_MS, reason: 'low' },
      }),
    ]);
    expect(await lastKind()).toBe('hello');
  });
});
