import { DAY_MS, MINUTE_MS } from '@duskline/domain';
import type { Store } from '@duskline/store';
import { openTestStore } from '@duskline/test-harness';
import { beforeAll, expect, it } from 'vitest';
import { createTestPipeline } from '../testing-pipeline.ts';
import { createTestNode } from '../testing-node.ts';

const startMs = Date.UTC(2026, 10, 25, 12);
let store: Store;
beforeAll(() => openTestStore((opened) => ({ store } = opened)));

/** Two messages of a node that has no uptime to date them by: what it says of its clock is all there is. */
async function alertsAfter(name: string, source: string): Promise<readonly string[]> {
  const node = await createTestNode(store, name, startMs - DAY_MS);
  let nowMs = startMs;
  const pipeline = createTestPipeline(store, () => nowMs);
  for (let i = 0; i < 3; i++) {
    const records = [
      { bn: `${name}_`, bt: nowMs / 1000 - 3600, n: 'charge', u: '%EL', v: 80 },
      { n: 'clock_src', vs: source },
    ];
    await pipeline.receive({
      topic: `v1/${name}/up/live`,
      payload: new TextEncoder().encode(JSON.stringify(records)),
      receivedAtMs: nowMs,
    });
    await pipeline.idle();
    await pipeline.advance(node.id);
    nowMs += 6 * MINUTE_MS;
  }
  return (await store.alerts.open(node.id)).map(({ rule }) => rule);
}

it('says so when a clock was never set, though nothing of such a node is among its latest values', async () => {
  expect(await alertsAfter('no-time', 'none')).toContain('clock-wrong');
  expect(await alertsAfter('right-time', 'network')).not.toContain('clock-wrong');
});
