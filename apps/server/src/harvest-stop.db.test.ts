import { DAY_MS, HOUR_MS, MINUTE_MS, type FieldNode, type Outlook } from '@duskline/domain';
import type { Store } from '@duskline/store';
import { openTestStore } from '@duskline/test-harness';
import { encodeMessage, topicFor } from '@duskline/wire';
import { beforeAll, expect, it } from 'vitest';
import { forecastFrom } from './forecast-at.ts';
import { keptInputs } from './kept-inputs.ts';
import { createTestNode } from './testing-node.ts';
import { createTestPipeline } from './testing-pipeline.ts';

const nowMs = Date.UTC(2026, 5, 25, 20);
const failedMs = nowMs - 3 * DAY_MS;
let store: Store;
let clockMs = nowMs;
beforeAll(() => openTestStore((opened) => ({ store } = opened)));

/** Three weeks of half-hours up to now; the panel's voltage and power are gone while the plug is off. */
async function tell(node: FieldNode, isOff: (atMs: number) => boolean, fromMs: number) {
  const pipeline = createTestPipeline(store, () => clockMs);
  for (let startMs = fromMs; startMs <= clockMs; startMs += DAY_MS) {
    const samples = Array.from({ length: 48 }, (_, i) => startMs + i * 30 * MINUTE_MS)
      .filter((atMs) => atMs <= clockMs)
      .map((observedAtMs) => {
        const hour = (observedAtMs / HOUR_MS) % 24;
        const lit = hour > 5 && hour < 19 && !isOff(observedAtMs);
        return {
          observedAtMs,
          metrics: ['panel_w', 'panel_v', 'load_w', 'batt_v', 'charge'] as const,
          values: [lit ? 8 : 0, lit ? 17 : 0.1, 1, 13.1, 45],
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
}

async function outlookOf(node: FieldNode): Promise<Outlook> {
  const outlook = await store.outlooks.latest(node.id);
  if (outlook === undefined) throw new Error('No outlook was issued.');
  return outlook;
}
const scored = async (node: FieldNode): Promise<readonly number[]> =>
  (await store.scores.open(node.id, 100))
    .filter(({ hindcast }) => !hindcast)
    .map(({ issuedAtMs }) => issuedAtMs);

it('reckons without harvest while the plug is off, can be made again, and is not scored', async () => {
  clockMs = nowMs;
  const node = await createTestNode(store, 'loose-plug', nowMs - 40 * DAY_MS);
  await tell(node, (atMs) => atMs >= failedMs, nowMs - 21 * DAY_MS);
  const outlook = await outlookOf(node);
  expect(outlook.harvestStop?.cause).toBe('panel connector failed');
  if (outlook.kind === 'insufficient-data') throw new Error(outlook.missing);
  expect(outlook.drivers.harvestWhPerDay).toBe(0);
  // By hand: 35 % of 150 Wh at 1 W lasts 52 h; with sun on 20 W in June it would never stop.
  expect(outlook.darkWithin3DaysProbability).toBeGreaterThan(0.9);
  expect(await scored(node)).not.toContain(outlook.issuedAtMs);

  const kept = await keptInputs(store, node, { issuedAtMs: outlook.issuedAtMs, hindcast: false });
  expect(forecastFrom(kept!.inputs, kept!.lessons).outlook).toEqual(outlook);

  // Somebody fitted a charger since: what was certain is so no longer, and the outlook is made anew at once.
  clockMs += MINUTE_MS;
  await store.parts.add({
    siteId: node.siteId,
    kind: 'charger',
    serial: 'C-2',
    maker: 'Invented Works C1',
    fittedAtMs: clockMs - HOUR_MS,
    rated: {},
    notes: '',
  });
  await createTestPipeline(store, () => clockMs).advance(node.id);
  const mended = await outlookOf(node);
  expect(mended.issuedAtMs).toBe(clockMs);
  expect(mended.harvestStop).toBeUndefined();
  expect(await scored(node)).toContain(mended.issuedAtMs);
});

it('reckons with harvest where nothing failed', async () => {
  clockMs = nowMs;
  const node = await createTestNode(store, 'sound-plug', nowMs - 40 * DAY_MS);
  await tell(node, () => false, nowMs - 21 * DAY_MS);
  const outlook = await outlookOf(node);
  expect(outlook.harvestStop).toBeUndefined();
  expect(await scored(node)).toContain(outlook.issuedAtMs);
});
