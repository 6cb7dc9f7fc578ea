import { DAY_MS, HOUR_MS, MINUTE_MS, type FieldNode } from '@duskline/domain';
import type { Store } from '@duskline/store';
import { openTestStore } from '@duskline/test-harness';
import { encodeMessage, topicFor } from '@duskline/wire';
import { beforeAll, describe, expect, it } from 'vitest';
import { createTestNode } from './testing-node.ts';
import { createTestPipeline } from './testing-pipeline.ts';

const startMs = Date.UTC(2026, 10, 25, 12);
/** Half-hourly readings of the twelve days before: hours since the first in which the node was silent, and why. */
const DAYS = 12;
const firstMs = startMs - DAYS * DAY_MS;
const at = (hours: number) => firstMs + hours * HOUR_MS;
const silences = [
  { from: 40, to: 90, chargePct: 11, uptimeS: 60, state: 'dark-as-designed' },
  { from: 130, to: 140, chargePct: 70, uptimeS: 60, state: 'silent-unexplained' },
  { from: 180, to: 190, chargePct: 65, uptimeS: 200 * 3600, state: 'link-down' },
] as const;

let store: Store;
let nowMs = startMs;
beforeAll(() => openTestStore((opened) => ({ store } = opened)));

const makeNode = (name: string) => createTestNode(store, name, firstMs, { usualGapS: 1800 });

function pastSamples() {
  const samples = [];
  for (let half = 0; half < DAYS * 48; half += 1) {
    const hours = half / 2;
    if (silences.some(({ from, to }) => hours > from && hours < to)) continue;
    const before = silences.find(({ from }) => hours <= from && hours > from - 2);
    const after = silences.find(({ to }) => hours >= to && hours < to + 2);
    const uptimeS = after === undefined ? hours * 3600 : after.uptimeS + (hours - after.to) * 3600;
    samples.push({
      observedAtMs: at(hours),
      metrics: ['batt_v', 'charge', 'uptime'] as const,
      values: [13, before?.chargePct ?? 75, uptimeS],
    });
  }
  return samples;
}

function shuffled<T>(items: readonly T[], seed: number): T[] {
  let state = seed;
  return items
    .map((item) => {
      state = (state * 1_103_515_245 + 12_345) % 2_147_483_648;
      return { item, key: state };
    })
    .sort((a, b) => a.key - b.key)
    .map(({ item }) => item);
}

const tell = async (
  node: FieldNode,
  lane: 'live' | 'backlog',
  samples: readonly {
    observedAtMs: number;
    metrics: readonly ('batt_v' | 'charge' | 'uptime')[];
    values: readonly number[];
  }[],
  seq: number,
) => {
  const { receive, idle, advance } = createTestPipeline(store, () => nowMs);
  await receive({
    topic: topicFor(node.name, lane),
    payload: encodeMessage({ node: node.name, place: { boot: 1, seq }, samples }),
    receivedAtMs: nowMs,
  });
  await idle();
  await advance(node.id);
};
const live = (atMs: number) => ({
  observedAtMs: atMs,
  metrics: ['batt_v', 'charge', 'uptime'] as const,
  values: [13, 75, 400 * 3600],
});

/** States in hours since the first reading, after checking that nothing is left out and nothing told twice. */
async function intervalsOf(node: FieldNode) {
  const intervals = await store.intervals.list(node.id, 0, nowMs + DAY_MS);
  intervals.slice(1).forEach(({ fromMs }, i) => expect(fromMs).toBe(intervals[i]?.toMs));
  expect(intervals.at(-1)?.toMs).toBeUndefined();
  // What is over is told in words of its own time.
  for (const { cause } of intervals.slice(0, -1))
    expect(cause).not.toMatch(/right now|lately|Nothing heard for/);
  return intervals.map(({ state, fromMs }) => [state, (fromMs - firstMs) / HOUR_MS]);
}

const expected = [
  ['up', 0],
  ...silences.flatMap(({ state, from, to }) => [
    [state, from],
    ['up', to],
  ]),
];

describe('the past of a node', () => {
  it.each([1, 2, 3])(
    'is told in full once its card has come in, in whatever order (seed %i)',
    async (seed) => {
      nowMs = startMs;
      const node = await makeNode(`card-${seed}`);
      await tell(node, 'live', [live(nowMs)], 1);
      const samples = pastSamples();
      const packs = [];
      for (let i = 0; i < samples.length; i += 40) packs.push(samples.slice(i, i + 40));
      let seq = 1;
      for (const pack of shuffled([...packs, ...packs.slice(0, 2)], seed)) {
        nowMs += MINUTE_MS;
        await tell(node, 'backlog', pack, ++seq);
      }
      nowMs += MINUTE_MS;
      await tell(node, 'live', [live(nowMs)], seq + 1);
      expect(await intervalsOf(node)).toEqual(expected);
      expect(
        (await store.alerts.listOpen()).filter(({ siteId }) => siteId === node.siteId),
      ).toEqual([]);
    },
  );

  it('is told in full when only a backlog comes, oldest first', async () => {
    nowMs = startMs;
    const node = await makeNode('backlog-only');
    const samples = pastSamples();
    let seq = 0;
    for (let i = 0; i < samples.length; i += 48) {
      nowMs += 1000;
      await tell(node, 'backlog', samples.slice(i, i + 48), ++seq);
    }
    nowMs += 20_000;
    await tell(node, 'live', [live(nowMs)], seq + 1);
    expect(await intervalsOf(node)).toEqual(expected);
  });

  it('of a silence that was the link is rewritten when the backlog fills it', async () => {
    nowMs = startMs;
    const node = await makeNode('link-was-down');
    await tell(node, 'live', [live(nowMs)], 1);
    const { advance } = createTestPipeline(store, () => nowMs);
    nowMs += 6 * HOUR_MS;
    await advance(node.id);
    // Nor is any other node heard.
    expect((await intervalsOf(node)).map(([state]) => state)).toEqual(['link-down']);
    nowMs += 2 * HOUR_MS;
    const missed = Array.from({ length: 15 }, (_, i) => live(startMs + (i + 1) * 30 * MINUTE_MS));
    await tell(node, 'backlog', missed, 2);
    await tell(node, 'live', [live(nowMs)], 3);
    expect(await intervalsOf(node)).toEqual([['up', DAYS * 24]]);
  });
});
