import {
  DAY_MS,
  HOUR_MS,
  MINUTE_MS,
  type FieldNode,
  type MessagePlace,
  type NodeName,
} from '@duskline/domain';
import type { Store } from '@duskline/store';
import { openTestStore } from '@duskline/test-harness';
import { encodeFarewell, encodeMessage, topicFor } from '@duskline/wire';
import { beforeAll, describe, expect, it } from 'vitest';
import { createTestNode } from './testing-node.ts';
import { createTestPipeline, tellHalfHours } from './testing-pipeline.ts';

/** Late November: a node that draws 24 Wh a day under a 20 W panel must watch its charge. */
const startMs = Date.UTC(2026, 10, 25, 12);
let store: Store;
let nowMs = startMs;
const acks: (readonly [NodeName, MessagePlace])[] = [];
beforeAll(() => openTestStore((opened) => ({ store } = opened)));

const pipelineOf = () =>
  createTestPipeline(
    store,
    () => nowMs,
    (node, place) => acks.push([node, place]),
  );

const makeNode = (name: string) => createTestNode(store, name, nowMs, { usualGapS: 1800 });

/** Of the ten days before `untilMs`. */
const tellPast = (node: FieldNode, untilMs: number, chargeAt: (atMs: number) => number) =>
  tellHalfHours(pipelineOf(), node, { days: 10, untilMs, receivedAtMs: nowMs }, chargeAt);
const viewOf = async (node: FieldNode) => {
  const view = await store.views.ofNode(node.id);
  if (view === undefined) throw new Error('the node has no view');
  return view;
};

describe('the life of a reading', () => {
  it('goes from a packet to a stored sample, an acknowledgement, a state and an outlook', async () => {
    nowMs = startMs;
    const node = await makeNode('sallow-bridge');
    await tellPast(node, nowMs, () => 0.7);
    expect(acks.at(-1)).toEqual([node.name, { boot: 1, seq: 10 }]);
    await pipelineOf().advance(node.id);
    const view = await viewOf(node);
    expect(view.verdict?.state).toBe('up');
    expect(view.charge).toMatchObject({ ratio: 0.7, method: 'gauge', observedAtMs: nowMs });
    expect(view.outlook?.kind).toMatch(/empties-in|beyond-horizon/);
    expect(
      await store.samples.raw(node.id, 'charge', { fromMs: 0, toMs: nowMs + 1, limit: 10_000 }),
    ).toHaveLength(480);
  });

  it('is the same when everything is told and advanced twice', async () => {
    const node = (await store.nodes.findByName('sallow-bridge' as NodeName)) as FieldNode;
    const before = await viewOf(node);
    await tellPast(node, nowMs, () => 0.7);
    await pipelineOf().advance(node.id);
    const after = await viewOf(node);
    expect({ ...after, version: 0 }).toEqual({ ...before, version: 0 });
    expect(
      await store.samples.raw(node.id, 'charge', { fromMs: 0, toMs: nowMs + 1, limit: 10_000 }),
    ).toHaveLength(480);
  });

  it('ends in quarantine, whole and with a reason, when it cannot be understood or nobody knows its node', async () => {
    const { receive } = pipelineOf();
    const payload = new TextEncoder().encode('[{"n":"batt_v","u":"furlong","v":1}]');
    await receive({ topic: 'v1/sallow-bridge/up/live', payload, receivedAtMs: nowMs });
    await receive({
      topic: 'v1/nobody-here/up/live',
      payload: new TextEncoder().encode('[{"n":"batt_v","u":"V","v":13}]'),
      receivedAtMs: nowMs,
    });
    const kept = await store.quarantine.recent(10);
    expect(kept).toHaveLength(2);
    expect(kept.map(({ topic }) => topic).sort()).toEqual([
      'v1/nobody-here/up/live',
      'v1/sallow-bridge/up/live',
    ]);
    const wrong = kept.find(({ topic }) => topic.includes('sallow'));
    expect(wrong?.fault.reason).toMatch(/furlong/);
    expect(Buffer.from(wrong?.payload ?? [])).toEqual(Buffer.from(payload));
  });
});

describe('silence', () => {
  it('after a farewell raises nothing and shows when the node is expected back', async () => {
    nowMs = startMs;
    const node = await makeNode('long-moss');
    const stoppedMs = nowMs - 20 * HOUR_MS;
    const perDay = 0.05;
    await tellPast(node, stoppedMs, (atMs) => 0.1 + (perDay * (stoppedMs - atMs)) / DAY_MS);
    await pipelineOf().receive({
      topic: topicFor(node.name, 'state'),
      payload: encodeFarewell({
        node: node.name,
        reason: 'charge at the shut-down level',
        chargeRatio: 0.1,
        observedAtMs: stoppedMs,
      }),
      receivedAtMs: nowMs,
    });
    nowMs += HOUR_MS;
    await pipelineOf().advance(node.id);
    const view = await viewOf(node);
    expect(view.verdict).toMatchObject({ state: 'dark-as-designed', sinceMs: stoppedMs });
    expect(view.alerts).toEqual([]);
    expect(view.outlook).toMatchObject({ whileDark: true });
    // The window by which it can be late is issued as of the moment it stopped.
    expect((await store.outlooks.firstDark(node.id, stoppedMs))?.issuedAtMs).toBe(stoppedMs);
  });

  it('with a healthy charge is raised after a minute, once, and ends when the node is heard again', async () => {
    nowMs = startMs;
    const node = await makeNode('brackwell-ford');
    await tellPast(node, nowMs - 30 * HOUR_MS, () => 0.8);
    const { advance, receive } = pipelineOf();
    nowMs += HOUR_MS;
    await advance(node.id);
    expect((await viewOf(node)).verdict?.state).toBe('silent-unexplained');
    expect((await viewOf(node)).alerts).toEqual([]);
    nowMs += MINUTE_MS;
    await advance(node.id);
    nowMs += MINUTE_MS;
    await advance(node.id);
    expect((await viewOf(node)).alerts.map(({ rule, state }) => [rule, state])).toEqual([
      ['silent-unexplained', 'new'],
    ]);
    for (let message = 0; message < 2; message++) {
      nowMs += MINUTE_MS;
      await receive({
        topic: topicFor(node.name, 'live'),
        payload: encodeMessage({
          node: node.name,
          samples: [{ observedAtMs: nowMs, metrics: ['charge'], values: [80] }],
        }),
        receivedAtMs: nowMs,
      });
      await advance(node.id);
    }
    expect((await viewOf(node)).alerts).toEqual([]);
    expect((await store.alerts.listOpen()).map(({ rule, state }) => [rule, state])).toContainEqual([
      'silent-unexplained',
      'ended-unseen',
    ]);
  });

  it('is found by the sweep, which leaves no node with news behind', async () => {
    expect(await pipelineOf().sweep()).toEqual([]);
    expect(await store.nodes.due(nowMs, 10)).toEqual([]);
  });
});
