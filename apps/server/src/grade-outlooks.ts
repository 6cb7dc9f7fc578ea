import { DAY_MS, type NodeId } from '@duskline/domain';
import { gradeOutlook, watchOutcome, type BaselineDays } from '@duskline/forecast';
import type { Store } from '@duskline/store';

/** So much is done in one sweep; the rest waits for the next. */
const NODES_AT_ONCE = 4;
const OUTLOOKS_AT_ONCE = 400;

/**
 * Grades outlooks whose time has come, by what the node's readings say since. Each is graded to its end once, whoever does it
 * and however often it is begun: the store keeps the first.
 *
 * @returns how many outlooks were looked at
 */
export async function gradeOutlooks(store: Store, nowMs: number): Promise<number> {
  let looked = 0;
  for (const nodeId of await store.scores.nodesDue(nowMs, NODES_AT_ONCE))
    looked += await gradeNode(store, nodeId, nowMs);
  return looked;
}

async function gradeNode(store: Store, nodeId: NodeId, nowMs: number): Promise<number> {
  const [node, open] = await Promise.all([
    store.nodes.find(nodeId),
    store.scores.open(nodeId, OUTLOOKS_AT_ONCE),
  ]);
  const [oldest] = open;
  if (node === undefined || oldest === undefined) return 0;
  const fromMs = oldest.issuedAtMs - DAY_MS;
  const [history, intervals] = await Promise.all([
    store.rollups.hourly(nodeId, fromMs, nowMs),
    store.intervals.list(nodeId, fromMs, nowMs),
  ]);
  const known = {
    history,
    shutDownRatio: node.power.shutDownRatio,
    darkFromMs: intervals
      .filter(({ state }) => state === 'dark-as-designed')
      .map(({ fromMs: darkMs }) => darkMs),
  };
  const grades = open.map((one) => ({
    issuedAtMs: one.issuedAtMs,
    hindcast: one.hindcast,
    gradedAtMs: nowMs,
    ...gradeOutlook(
      { ...one, baselines: one.baselines as BaselineDays },
      watchOutcome(known, one.issuedAtMs),
      nowMs,
    ),
  }));
  await store.scores.grade(nodeId, grades);
  return open.length;
}
