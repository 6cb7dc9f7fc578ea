import { hashSecret } from '@duskline/broker';
import {
  DAY_MS,
  HOUR_MS,
  MINUTE_MS,
  parseNodeName,
  type FieldNode,
  type NodeName,
  type SiteId,
} from '@duskline/domain';
import { openStore, type Store } from '@duskline/store';
import { createTestDatabase, type TestDatabase } from '@duskline/test-harness';
import { encodeMessage, topicFor } from '@duskline/wire';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { forecastFrom } from './forecast-at.ts';
import { gradeOutlooks } from './grade-outlooks.ts';
import { keptInputs } from './kept-inputs.ts';
import { issueHindcasts } from './issue-hindcasts.ts';
import { createPipeline } from './pipeline.ts';
import { readScore } from './score-desk.ts';

const nowMs = Date.UTC(2026, 10, 25, 12);
const DAYS = 50;
let database: TestDatabase;
let store: Store;
beforeAll(async () => {
  database = await createTestDatabase();
  store = await openStore({ url: database.url });
});
afterAll(async () => {
  await store.close();
  await database.drop();
});

const pipeline = () =>
  createPipeline({
    store,
    clock: { now: () => nowMs },
    sendAck: () => undefined,
    onNews: () => undefined,
  });
const noPause = () => Promise.resolve();

async function makeNode(name: string): Promise<FieldNode> {
  const site = await store.sites.create({
    id: name as SiteId,
    name,
    position: { latitudeDeg: 54.9, longitudeDeg: -2.9, elevationM: 120 },
    timeZone: 'Europe/London',
    access: '',
    hazards: '',
  });
  return await store.nodes.create(
    {
      name: parseNodeName(name) as NodeName,
      siteId: site.id,
      commissionedAtMs: nowMs - DAYS * DAY_MS,
      power: {
        panel: { ratedW: 20, tiltDeg: 68, azimuthDeg: 180 },
        battery: { chemistry: 'lifepo4', ratedWh: 150, seriesCells: 4 },
        charger: 'mppt',
        shutDownRatio: 0.1,
        restartRatio: 0.5,
        offStateDrawW: 0.1,
        usualGapS: 1800,
      },
    },
    hashSecret('only in tests'),
  );
}

/** Fifty days, half-hourly: charge falls from 80 % until it stops on day 30 at 10 %, is away for five days, comes back at 50 %. */
const STOP_MS = nowMs - 20 * DAY_MS;
const BACK_MS = STOP_MS + 5 * DAY_MS;
function chargeAt(atMs: number): number | undefined {
  if (atMs < STOP_MS) return 0.1 + 0.7 * Math.min(1, (STOP_MS - atMs) / (30 * DAY_MS));
  if (atMs < BACK_MS) return undefined;
  return 0.5;
}

async function tellPast(node: FieldNode): Promise<void> {
  const { receive, idle } = pipeline();
  let seq = 0;
  for (let fromMs = nowMs - DAYS * DAY_MS; fromMs < nowMs; fromMs += DAY_MS) {
    seq += 1;
    const samples = Array.from({ length: 48 }, (_, i) => {
      const observedAtMs = fromMs + (i + 1) * 30 * MINUTE_MS;
      const hour = (observedAtMs / HOUR_MS) % 24;
      const charge = chargeAt(observedAtMs);
      return charge === undefined
        ? []
        : [
            {
              observedAtMs,
              metrics: ['batt_temp', 'charge', 'load_w', 'panel_w'] as const,
              values: [8, charge * 100, 1, hour > 9 && hour < 15 ? 3 : 0],
            },
          ];
    }).flat();
    if (samples.length === 0) continue;
    await receive({
      topic: topicFor(node.name, 'backlog'),
      payload: encodeMessage({ node: node.name, place: { boot: 1, seq }, samples }),
      receivedAtMs: nowMs,
    });
  }
  await idle();
}

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
