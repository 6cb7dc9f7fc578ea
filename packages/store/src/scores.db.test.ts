import { DAY_MS, HOUR_MS, type FieldNode, type Outlook } from '@duskline/domain';
import { openTestStore } from '@duskline/test-harness';
import { beforeAll, describe, expect, it } from 'vitest';
import type { Store } from './store.ts';
import { createExampleNode } from './testing/example-fleet.ts';

const startMs = Date.UTC(2026, 10, 1);
let store: Store;
beforeAll(() => openTestStore((opened) => ({ store } = opened)));

const outlook = (issuedAtMs: number): Outlook => ({
  kind: 'insufficient-data',
  issuedAtMs,
  horizonDays: 30,
  model: 'test',
  seed: 1,
  missing: 'days',
  have: 0,
  need: 3,
});

const keep = (node: FieldNode, issuedAtMs: number, hindcast = true) =>
  store.outlooks.keepHindcasts(node.id, [
    {
      outlook: outlook(issuedAtMs),
      hindcast,
      score: {
        of: 'empty',
        dueAtMs: issuedAtMs + 7 * DAY_MS,
        horizonDays: 30,
        days: [2, 5, Infinity],
        rawChance7: 0.6,
        chance7: 0.5,
        baselines: { lastDay: 3 },
      },
    },
  ]);

describe('grading', () => {
  it('finds what is due, and grades each outlook to its end once', async () => {
    const node = await createExampleNode(store, 'rushy-sluice');
    await keep(node, startMs);
    await keep(node, startMs);
    expect(await store.scores.nodesDue(startMs + 6 * DAY_MS, 10)).toEqual([]);
    expect(await store.scores.nodesDue(startMs + 7 * DAY_MS, 10)).toEqual([node.id]);
    const [open] = await store.scores.open(node.id, 10);
    expect(open).toEqual({
      issuedAtMs: startMs,
      hindcast: true,
      of: 'empty',
      dueAtMs: startMs + 7 * DAY_MS,
      horizonDays: 30,
      days: [2, 5, Infinity],
      chance7: 0.5,
      baselines: { lastDay: 3 },
    });
    const key = { issuedAtMs: startMs, hindcast: true };
    const half = {
      ...key,
      gradedAtMs: startMs + 7 * DAY_MS,
      nextDueAtMs: startMs + 21 * DAY_MS,
      happened7: false,
    };
    expect(await store.scores.grade(node.id, [half])).toBe(1);
    expect(await store.scores.nodesDue(startMs + 8 * DAY_MS, 10)).toEqual([]);
    const whole = {
      ...key,
      gradedAtMs: startMs + 10 * DAY_MS,
      outcome: 'happened' as const,
      outcomeDays: 9.5,
      figures: { crpsDays: 1.25 },
    };
    expect(await store.scores.grade(node.id, [whole])).toBe(1);
    expect(await store.scores.grade(node.id, [{ ...whole, outcomeDays: 3 }])).toBe(0);
    expect(await store.scores.daily({ fromMs: startMs, toMs: startMs + DAY_MS })).toEqual([
      {
        ...key,
        nodeId: node.id,
        of: 'empty',
        horizonDays: 30,
        rawChance7: 0.6,
        chance7: 0.5,
        happened7: false,
        outcome: 'happened',
        outcomeDays: 9.5,
        figures: { crpsDays: 1.25 },
      },
    ]);
  });

  it('is due at once for a node that went dark, of what was issued before it did', async () => {
    const node = await createExampleNode(store, 'tarn-gill');
    await keep(node, startMs, false);
    await store.commitAdvance({
      nodeId: node.id,
      newsVersion: 1,
      verdict: {
        state: 'dark-as-designed',
        sinceMs: startMs + 2 * DAY_MS,
        cause: 'It said farewell.',
        evidence: [],
      },
      alertChanges: [],
      memory: [],
      nextCheckAtMs: startMs + 3 * DAY_MS,
      nowMs: startMs + 2 * DAY_MS,
    });
    expect(await store.scores.nodesDue(startMs + 2 * DAY_MS, 10)).toEqual([node.id]);
  });

  it('takes one outlook for each node and day', async () => {
    const node = await createExampleNode(store, 'long-moss');
    for (const hours of [1, 5, 23, 25]) await keep(node, startMs + hours * HOUR_MS);
    const rows = await store.scores.daily({
      fromMs: startMs,
      toMs: startMs + 9 * DAY_MS,
      nodeId: node.id,
    });
    expect(rows.map(({ issuedAtMs }) => (issuedAtMs - startMs) / HOUR_MS)).toEqual([1, 25]);
    expect(await store.scores.issuedDays(node.id)).toEqual([
      startMs / DAY_MS,
      startMs / DAY_MS + 1,
    ]);
  });
});

describe('recalibration', () => {
  it('is the newest that was kept', async () => {
    expect(await store.scores.recalibration()).toBeUndefined();
    const of = (fittedAtMs: number) => ({ fittedAtMs, outcomes: 240, body: { slope: 0.92 } });
    await store.scores.keepRecalibration(of(startMs + DAY_MS));
    await store.scores.keepRecalibration(of(startMs));
    expect(await store.scores.recalibration()).toEqual(of(startMs + DAY_MS));
  });
});
