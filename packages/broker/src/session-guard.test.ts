import { Aedes } from 'aedes';
import { describe, expect, it } from 'vitest';
import { guardSessions, type SessionStore } from './session-guard.ts';

/** aedes' own session store, read back through its own lookups. */
interface ReadableStore extends SessionStore {
  subscriptionsByTopic(topic: string): Promise<readonly { readonly clientId: string }[]>;
  outgoingStream(client: { readonly id: string }): AsyncIterable<unknown>;
}

async function guardedStore(): Promise<ReadableStore> {
  const aedes = await Aedes.createBroker();
  const { persistence } = aedes as unknown as { readonly persistence: ReadableStore };
  guardSessions(persistence);
  await new Promise<void>((resolve) => aedes.close(resolve));
  return persistence;
}

const packet = (n: number) => ({
  cmd: 'publish',
  topic: 'v1/tarn-gill/down/ack',
  payload: Buffer.from(String(n)),
  qos: 1,
  brokerId: 'b',
  brokerCounter: n,
  messageId: n,
});

describe('the guard of kept sessions', () => {
  it('keeps no filter that was refused, whatever came beside it', async () => {
    const store = await guardedStore();
    const filters = ['v1/tarn-gill/down/ack', 'v1/rushy-sluice/down/ack', '#', 'v1/+/down/ack'];
    await store.addSubscriptions(
      { id: 'tarn-gill' },
      filters.map((topic) => ({ topic, qos: 1 })),
    );
    expect(await store.subscriptionsByTopic('v1/rushy-sluice/down/ack')).toEqual([]);
    expect(await store.subscriptionsByTopic('v1/tarn-gill/down/ack')).toHaveLength(1);
  });

  it('queues no more than a thousand messages for a node that acknowledges none, and goes on when it does', async () => {
    const store = await guardedStore();
    const node = { id: 'tarn-gill' };
    const queued = async () => {
      const all: unknown[] = [];
      for await (const kept of store.outgoingStream(node)) all.push(kept);
      return all.length;
    };
    for (let n = 1; n <= 1100; n += 1) {
      await store.outgoingEnqueueCombi([{ clientId: 'tarn-gill' }], packet(n));
    }
    expect(await queued()).toBe(1000);
    const first: { messageId: number }[] = [];
    for await (const kept of store.outgoingStream(node)) first.push(kept as { messageId: number });
    Object.assign(first[0] ?? {}, { messageId: 1 });
    await store.outgoingClearMessageId(node, { messageId: 1 });
    await store.outgoingEnqueueCombi([{ clientId: 'tarn-gill' }], packet(1101));
    await store.outgoingEnqueueCombi([{ clientId: 'tarn-gill' }], packet(1102));
    expect(await queued()).toBe(1000);
  });
});
