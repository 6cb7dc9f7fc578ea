import { DAY_MS, HOUR_MS, MINUTE_MS } from '@duskline/domain';
import type { Store } from '@duskline/store';
import { openTestStore } from '@duskline/test-harness';
import { encodeMessage, topicFor } from '@duskline/wire';
import { beforeAll, expect, it } from 'vitest';
import { createTestPipeline } from '../testing-pipeline.ts';
import { createTestNode } from '../testing-node.ts';

const nowMs = Date.UTC(2026, 5, 25, 20);
let store: Store;
beforeAll(() => openTestStore((opened) => ({ store } = opened)));

it('looks at the weeks of a node again soon after more of its past has come, and not at every packet', async () => {
  const node = await createTestNode(store, 'late-teller', nowMs - 40 * DAY_MS);
  let clockMs = nowMs;
  const pipeline = createTestPipeline(store, () => clockMs);
  /** Half-hourly power: by day as much as a panel of 20 W gives, by night none. */
  const tell = async (fromMs: number, toMs: number): Promise<void> => {
    for (let dayMs = fromMs; dayMs < toMs; dayMs += DAY_MS) {
      const samples = Array.from({ length: 48 }, (_, half) => {
        const hour = half / 2;
        return {
          observedAtMs: dayMs + hour * HOUR_MS,
          metrics: ['panel_w', 'load_w', 'batt_v', 'charge'] as const,
          values: [hour > 6 && hour < 18 ? 10 : 0, 1, 13.2, 70],
        };
      });
      await pipeline.receive({
        topic: topicFor(node.name, 'backlog'),
        payload: encodeMessage({ node: node.name, samples }),
        receivedAtMs: clockMs,
      });
    }
    await pipeline.idle();
    await pipeline.advance(node.id);
  };
  const daysKnown = async (): Promise<number> => (await store.signs.yields(node.id, 0)).size;
  const midnightMs = Math.floor(nowMs / DAY_MS) * DAY_MS;
  await tell(midnightMs - 20 * DAY_MS, midnightMs - 10 * DAY_MS);
  const early = await daysKnown();
  clockMs += MINUTE_MS;
  await tell(midnightMs - 10 * DAY_MS, midnightMs);
  // Ten days more, by what was told: of each a yield.
  expect((await daysKnown()) - early).toBe(10);

  // At once it is too soon: a node that sends its past for minutes would hold up the others …
  await tell(midnightMs - 30 * DAY_MS, midnightMs - 20 * DAY_MS);
  expect((await daysKnown()) - early).toBe(10);
  // … but it is not forgotten, though nothing more is told.
  clockMs += MINUTE_MS;
  expect(await pipeline.sweep()).toEqual([]);
  expect((await daysKnown()) - early).toBe(20);
});
