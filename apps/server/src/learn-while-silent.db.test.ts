import { DAY_MS, MINUTE_MS } from '@duskline/domain';
import type { Store } from '@duskline/store';
import { openTestStore } from '@duskline/test-harness';
import { beforeAll, expect, it } from 'vitest';
import { createTestNode } from './testing-node.ts';
import { createTestPipeline, tellHalfHours } from './testing-pipeline.ts';

let store: Store;
beforeAll(() => openTestStore((opened) => ({ store } = opened)));

// A card of twenty days, of a node that has been silent for two: no outlook is made of it, but what it taught is known.
it('learns from the past of a node that brought it along and is silent', async () => {
  const stoppedAtMs = Date.UTC(2026, 10, 25);
  let nowMs = stoppedAtMs + 2 * DAY_MS;
  const node = await createTestNode(store, 'gorse-knowe', stoppedAtMs - 20 * DAY_MS, {
    usualGapS: 1800,
  });
  const pipeline = createTestPipeline(store, () => nowMs);
  await tellHalfHours(
    pipeline,
    node,
    { days: 20, untilMs: stoppedAtMs, receivedAtMs: nowMs },
    () => 0.8,
  );
  await pipeline.advance(node.id);
  // While it still tells, what there is so far may be little of it.
  expect(await store.learnt.of(node.id)).toBeUndefined();

  nowMs += MINUTE_MS;
  await pipeline.advance(node.id);
  const learnt = await store.learnt.of(node.id);
  expect(learnt?.learntAtMs).toBe(nowMs);
  expect(learnt?.body).toMatchObject({ weather: { days: { length: 20 } } });
  expect(await store.outlooks.latest(node.id)).toBeUndefined();
});
