import { DAY_MS, type AccountId, type NodeName, type SettingsRequest } from '@duskline/domain';
import type { Store } from '@duskline/store';
import { openTestStore } from '@duskline/test-harness';
import { encodeSettingsInForce, topicFor } from '@duskline/wire';
import { beforeAll, describe, expect, it } from 'vitest';
import { createTestPipeline } from './testing-pipeline.ts';
import { createSettingsDesk, sayRequest, sendSettingsAgain } from './settings-desk.ts';
import { createTestNode } from './testing-node.ts';

const nowMs = Date.UTC(2026, 10, 25, 12);
const ada = {
  id: 'a' as AccountId,
  email: 'ada@greywater.example',
  name: 'Ada',
  role: 'builder',
} as const;
let store: Store;
beforeAll(() => openTestStore((opened) => ({ store } = opened)));

const makeNode = (name: string) => createTestNode(store, name, nowMs - DAY_MS);

describe('thrift, from the request to the node’s word', () => {
  it('is sent, waits, and is in force once the node says so by the wire', async () => {
    const node = await makeNode('cold-spout-1');
    const sent: (readonly [NodeName, SettingsRequest])[] = [];
    const send = (name: NodeName, request: SettingsRequest) => void sent.push([name, request]);
    const desk = createSettingsDesk({ store, send, now: () => nowMs });
    const request = {
      id: 'a1',
      logEveryS: 1200,
      publishEveryS: 1200,
      thriftUntilMs: Date.UTC(2026, 11, 9),
    };
    await desk.ask(node, request, ada);
    expect(sent).toEqual([[node.name, request]]);
    expect(await desk.story(node.id)).toEqual({
      requests: [{ request, askedAtMs: nowMs, askedBy: 'Ada' }],
    });

    const pipeline = createTestPipeline(store, () => nowMs);
    const saidAtMs = nowMs + 5000;
    const packet = {
      topic: topicFor(node.name, 'state'),
      payload: encodeSettingsInForce(node.name, request),
      receivedAtMs: saidAtMs,
    };
    await pipeline.receive(packet);
    await pipeline.receive({ ...packet, receivedAtMs: saidAtMs + 60_000 });
    const { inForce, requests } = await desk.story(node.id);
    expect(inForce?.settings).toEqual(request);
    expect(requests[0]?.answeredAtMs).toBe(saidAtMs);

    // Said twice, written once.
    const book = await store.events.list(node.siteId, {
      fromMs: nowMs,
      toMs: nowMs + DAY_MS,
      limit: 10,
    });
    expect(book.map(({ kind, by, sentence }) => [kind, by, sentence])).toEqual([
      [
        'settings',
        undefined,
        'cold-spout-1 says that it does this now: log every 20 min and publish every 20 min until Wed 9 Dec 00:00 UTC.',
      ],
      [
        'settings',
        'Ada',
        'Asked cold-spout-1 to log every 20 min and publish every 20 min until Wed 9 Dec 00:00 UTC.',
      ],
    ]);
  });

  it('is told again to a broker that forgot it', async () => {
    const node = await makeNode('ling-ridge-1');
    const desk = createSettingsDesk({ store, send: () => undefined, now: () => nowMs });
    await desk.ask(node, { id: 'b1', publishEveryS: 900 }, ada);
    await desk.ask(node, { id: 'b2', publishEveryS: 901 }, { ...ada, name: 'Bo' });
    const sent: string[] = [];
    await sendSettingsAgain(store, (name, { id }) => void sent.push(`${name} ${id}`));
    // Both at one instant: whichever is sent, it is one.
    expect(sent.filter((one) => one.startsWith(node.name))).toHaveLength(1);
  });

  it('is said in words', () => {
    expect(sayRequest({ publishEveryS: 45 }, 'UTC')).toBe('publish every 45 s');
    expect(sayRequest({}, 'UTC')).toBe('go by its own configuration');
  });
});
