import { DAY_MS, HOUR_MS, type FieldNode } from '@duskline/domain';
import type { Store } from '@duskline/store';
import { openTestStore } from '@duskline/test-harness';
import { beforeAll, describe, expect, it } from 'vitest';
import { forecastFrom } from './forecast-at.ts';
import { gradeOutlooks } from './grade-outlooks.ts';
import { keptInputs } from './kept-inputs.ts';
import { issueHindcasts } from './issue-hindcasts.ts';
import { createTestNode } from './testing-node.ts';
import { createTestPipeline, tellHalfHours } from './testing-pipeline.ts';
import { readScore } from './score-desk.ts';

const nowMs = Date.UTC(2026, 10, 25, 12);
const DAYS = 50;
let store: Store;
beforeAll(() => openTestStore((opened) => ({ store } = opened)));

const pipeline = () => createTestPipeline(store, () => nowMs);
const noPause = () => Promise.resolve();

const makeNode = (name: string) =>
  createTestNode(store, name, nowMs - DAYS * DAY_MS, { usualGapS: 1800 });

/** Fifty days, half-hourly: charge falls from 80 % until it stops on day 30 at 10 %, is away for five days, comes back at 50 %. */
const STOP_MS = nowMs - 20 * DAY_MS;
const BACK_MS = STOP_MS + 5 * DAY_MS;
function chargeAt(atMs: number): number | undefined {
  if (atMs < STOP_MS) return 0.1 + 0.7 * Math.min(1, (STOP_MS - atMs) / (30 * DAY_MS));
  if (atMs < BACK_MS) return undefined;
  return 0.5;
}

const tellPast = (node: FieldNode) =>
  tellHalfHours(pipeline(), node, { days: DAYS, untilMs: nowMs }, chargeAt);

describe('a fleet that brings its past along', () => {
  let node: FieldNode;
  beforeAll(async () => {
    node = await makeNode('sallow-bridge');
    await tellPast(node);
    await pipeline().advance(node.id);
  });

  it('has an outlook that can be made again from what is kept, to the last bit', async () => {
    const shown = await store.outlooks.latest(node.id);
    const kept = await keptInputs(store, node, { issuedAtMs: nowMs, hindcast: false });
    if (shown === undefined || kept === undefined) throw new Error('nothing was kept');
    expect(shown.kind).not.toBe('insufficient-data');
    expect(forecastFrom(kept.inputs, kept.lessons).outlook).toEqual(shown);
  });

  it('gets hindcasts of every third day it was up, from nothing later, once', async () => {
    const issued = await issueHindcasts(store, nowMs, noPause);
    // Days 3 to 49 in steps of three, less the dark ones and those before three days of harvest were known.
    expect(issued).toBeGreaterThanOrEqual(11);
    expect(issued).toBeLessThanOrEqual(15);
    expect(await issueHindcasts(store, nowMs, noPause)).toBeUndefined();
    const kept = await store.outlooks.list(node.id, {
      fromMs: nowMs - 60 * DAY_MS,
      toMs: nowMs,
      limit: 100,
    });
    for (const { issuedAtMs, hindcast } of kept) {
      expect(hindcast).toBe(true);
      expect(issuedAtMs > STOP_MS && issuedAtMs < BACK_MS).toBe(false);
      const inputs = await store.outlooks.inputs(node.id, { issuedAtMs, hindcast });
      const { startMs, panelW } = inputs?.history ?? { startMs: Infinity, panelW: [] };
      expect(startMs + panelW.length * HOUR_MS).toBeLessThanOrEqual(issuedAtMs);
    }
    // What is shown of the node is not touched by it.
    expect((await store.outlooks.latest(node.id))?.issuedAtMs).toBe(nowMs);
  });

  it('is graded by what came, once, however often it is begun', async () => {
    await gradeOutlooks(store, nowMs);
    const kept = await store.outlooks.list(node.id, {
      fromMs: nowMs - 60 * DAY_MS,
      toMs: nowMs,
      limit: 100,
    });
    const daysBefore = (issuedAtMs: number) => (STOP_MS - issuedAtMs) / DAY_MS;
    const near = kept.filter(
      ({ issuedAtMs }) => daysBefore(issuedAtMs) > 0 && daysBefore(issuedAtMs) < 7,
    );
    expect(near.length).toBeGreaterThan(0);
    for (const { graded, issuedAtMs } of near) {
      expect(graded).toMatchObject({ happened7: true, outcome: 'happened' });
      expect(Math.abs((graded?.outcomeDays ?? 0) - daysBefore(issuedAtMs))).toBeLessThan(1 / 12);
    }
    const far = kept.filter(
      ({ issuedAtMs }) => daysBefore(issuedAtMs) > 7 && daysBefore(issuedAtMs) < 21,
    );
    for (const { graded } of far)
      expect(graded).toMatchObject({ happened7: false, outcome: 'happened' });
    const before = JSON.stringify(kept);
    await gradeOutlooks(store, nowMs + DAY_MS);
    const settled = (rows: typeof kept) => rows.filter(({ graded }) => graded?.outcome);
    const again = await store.outlooks.list(node.id, {
      fromMs: nowMs - 60 * DAY_MS,
      toMs: nowMs,
      limit: 100,
    });
    expect(settled(again).map((one) => JSON.stringify(one))).toEqual(
      settled(JSON.parse(before) as typeof kept).map((one) => JSON.stringify(one)),
    );
  });

  it('has a score on its first day, of hindcasts that say so', async () => {
    const { score, byNode } = await readScore(store, { days: 90, of: 'all' }, nowMs);
    expect(score.chance.count).toBeGreaterThan(8);
    expect(score.chance.hindcasts).toBe(score.chance.count);
    expect(score.chance.events).toBeGreaterThan(0);
    expect(byNode.get(node.id)?.chance.count).toBe(score.chance.count);
    const issued = await readScore(store, { days: 90, of: 'issued' }, nowMs);
    expect(issued.score.chance.count).toBe(0);
  });
});
