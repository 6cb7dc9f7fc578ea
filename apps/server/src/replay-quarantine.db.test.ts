import { parseNodeName, type MessagePlace, type NodeId, type NodeName } from '@duskline/domain';
import type { Store } from '@duskline/store';
import { openTestStore } from '@duskline/test-harness';
import { topicFor } from '@duskline/wire';
import { beforeAll, beforeEach, describe, expect, it } from 'vitest';
import { createTestNode } from './testing-node.ts';
import { createTestPipeline } from './testing-pipeline.ts';
import { createQuarantineReplay } from './replay-quarantine.ts';

// Messages through the real pipeline into the real quarantine, and out of it again.

const startMs = Date.UTC(2026, 10, 25, 12);
let store: Store;
let acks: (readonly [NodeName, MessagePlace])[];
beforeAll(() => openTestStore((opened) => ({ store } = opened)));
beforeEach(() => (acks = []));

const sendAck = (node: NodeName, place: MessagePlace) => void acks.push([node, place]);
const nameOf = (text: string) => parseNodeName(text) as NodeName;

const makeNode = async (name: string): Promise<NodeId> =>
  (await createTestNode(store, name, startMs, { usualGapS: 1800 })).id;

async function send(name: string, payload: string | Uint8Array, receivedAtMs = startMs) {
  const { receive, idle } = createTestPipeline(store, () => receivedAtMs, sendAck);
  const bytes = typeof payload === 'string' ? Buffer.from(payload) : payload;
  await receive({ topic: topicFor(nameOf(name), 'live'), payload: bytes, receivedAtMs });
  await idle();
}

const replay = () =>
  createQuarantineReplay({ store, now: () => startMs, onNews: () => undefined, sendAck });

/** Volts now, under a number: its time is relative, so it depends on when it is taken to have come. */
const message = (seq: number, value: number) =>
  Buffer.from(
    JSON.stringify([
      { n: 'boot', v: 1 },
      { n: 'seq', v: seq },
      { n: 'batt_v', u: 'V', v: value },
    ]),
  );

const storedOf = (nodeId: NodeId) =>
  store.samples.raw(nodeId, 'batt_v', { fromMs: 0, toMs: startMs + 86_400_000, limit: 100 });

describe('what is in quarantine', () => {
  it('comes in once after a fix, dated by when it first came, though its number was settled', async () => {
    const nodeId = await makeNode('rushy-sluice');
    const node = nameOf('rushy-sluice');
    // As an earlier program left it, which could not read it.
    const packet = {
      topic: topicFor(node, 'live'),
      payload: message(1, 12.5),
      receivedAtMs: startMs,
    };
    const fault = { code: 'metric-unknown', reason: 'An earlier program did not know it.' };
    const keep = (receivedAtMs: number) =>
      store.quarantine.add({
        packet: { ...packet, receivedAtMs },
        node,
        fault,
        place: { boot: 1, seq: 1 },
      });
    expect(await keep(startMs)).toEqual({ boot: 1, seq: 1 });
    await keep(startMs + 5000);
    expect(await replay()({ node })).toEqual({
      takenIn: 1,
      alreadyThere: 0,
      stillRefused: 0,
      more: false,
    });
    expect(await storedOf(nodeId)).toEqual([{ atMs: startMs, value: 12.5 }]);
    expect(await replay()({ node })).toMatchObject({ takenIn: 0, alreadyThere: 0 });
    expect(await store.quarantine.list({ node }, { limit: 10 })).toEqual([]);
  });

  it('stays when it still cannot be read, and says why now', async () => {
    await makeNode('tarn-gill');
    await send('tarn-gill', '[{"n":"batt_v"');
    const node = nameOf('tarn-gill');
    expect(await replay()({ node })).toMatchObject({ takenIn: 0, stillRefused: 1 });
    expect(await store.quarantine.list({ node }, { limit: 10 })).toHaveLength(1);
  });

  it('of a stranger comes in once its node is added, and what it sent again by air does not double it', async () => {
    const node = nameOf('marl-beck');
    await send('marl-beck', message(1, 12.1));
    await send('marl-beck', message(2, 12.2));
    expect(await store.quarantine.unknownNodes(10)).toMatchObject([
      { name: 'marl-beck', times: 2 },
    ]);
    expect(acks).toEqual([]);
    expect(await replay()({ node })).toMatchObject({ takenIn: 0, stillRefused: 2 });

    const nodeId = await makeNode('marl-beck');
    await send('marl-beck', message(1, 12.1), startMs + 60_000);
    expect(await replay()({ node })).toMatchObject({ takenIn: 1, alreadyThere: 1 });
    expect(await storedOf(nodeId)).toEqual([
      { atMs: startMs, value: 12.2 },
      { atMs: startMs + 60_000, value: 12.1 },
    ]);
    expect(acks.at(-1)).toEqual([node, { boot: 1, seq: 2 }]);
    expect(await store.quarantine.unknownNodes(10)).toEqual([]);
  });

  it('is never taken in under the name of another than who sent it', async () => {
    const nodeId = await makeNode('otter-stones');
    await store.quarantine.add({
      packet: {
        topic: topicFor(nameOf('otter-stones'), 'live'),
        payload: message(1, 9.9),
        receivedAtMs: startMs,
      },
      node: nameOf('rushy-sluice'),
      fault: { code: 'topic-of-another', reason: 'It speaks for another.' },
    });
    expect(await replay()({ code: 'topic-of-another' })).toMatchObject({ stillRefused: 1 });
    expect(await storedOf(nodeId)).toEqual([]);
  });
});
