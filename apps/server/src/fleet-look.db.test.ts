import { DAY_MS, FLEET_NUMBER, HOUR_MS, type FieldNode, type Outlook } from '@duskline/domain';
import type { Store } from '@duskline/store';
import { openTestStore } from '@duskline/test-harness';
import { beforeAll, expect, it } from 'vitest';
import { createFleetLook } from './fleet-look.ts';
import { createTestNode } from './testing-node.ts';

const nowMs = Date.UTC(2026, 10, 27, 9);
let store: Store;
beforeAll(() => openTestStore((opened) => ({ store } = opened)));

const runsDown = (issuedAtMs: number, chance: number): Outlook => ({
  kind: 'empties-in',
  issuedAtMs,
  horizonDays: 30,
  model: 'test',
  seed: 1,
  p10Days: 2,
  darkWithin3DaysProbability: chance / 2,
  darkWithin7DaysProbability: chance,
  darkWithin14DaysProbability: chance,
  fan: { startMs: issuedAtMs, stepMs: HOUR_MS, p10: [0.5], p50: [0.6], p90: [0.7] },
  drivers: {
    harvestWhPerDay: 3.1,
    loadWhPerDay: 6,
    reserveWh: 20,
    noSunReserveDays: 3.3,
    harvestRatio: 0.4,
    historyDays: 30,
  },
});

/** A node that is up, with what its outlooks said, the newest last. */
async function makeNode(name: string, chances: readonly number[]): Promise<FieldNode> {
  const node = await createTestNode(store, name, nowMs - 60 * DAY_MS);
  const { newsVersion } = await store.nodes.facts(node.id);
  await store.commitAdvance({
    nodeId: node.id,
    newsVersion,
    nowMs,
    verdict: { state: 'up', sinceMs: nowMs - DAY_MS, cause: 'It is heard.', evidence: [] },
    alertChanges: [],
    memory: [],
    nextCheckAtMs: nowMs + HOUR_MS,
    outlooks: chances.map((chance, i) => ({
      outlook: runsDown(nowMs - (chances.length - i) * HOUR_MS, chance),
      hindcast: false,
    })),
  });
  return node;
}

it('calls once for a weather that takes several sites down, and quiets them but for those with a reason of their own', async () => {
  const taken = await Promise.all([
    makeNode('peat-hag', [0.1, 0.9]),
    makeNode('marl-beck', [0.95]),
    makeNode('cold-spout', [1]),
  ]);
  const better = await makeNode('heron-pool', [1, 0.2]);
  const accepted = await makeNode('tarn-gill', [1]);
  await store.acceptedGaps.accept({
    siteId: accepted.siteId,
    fromMs: nowMs - DAY_MS,
    untilMs: nowMs + 40 * DAY_MS,
    by: 'Wren Halloway',
    reason: 'No sun in the gill',
  });
  const { look, covering } = createFleetLook(store, {
    holder: 'test',
    // Just begun: that nobody was heard yet is nobody’s fault.
    startedAtMs: nowMs,
    health: async () => ({ server: {} }),
  });
  await look(nowMs);
  const weather = (await store.alerts.open(FLEET_NUMBER)).filter(
    ({ rule }) => rule === 'bad-weather',
  );
  // Halfway between the third and the seventh day: 3/4 of what is said of the seventh.
  expect(weather.map(({ text }) => text.figures)).toEqual([
    'cold-spout 75 %, marl-beck 71 %, peat-hag 68 %; 3 of 5 sites that are heard.',
  ]);
  for (const node of taken) expect(covering(node.id)).toEqual(['bad-weather']);
  for (const node of [better, accepted]) expect(covering(node.id)).toEqual([]);
});
