import { DAY_MS, HOUR_MS, type HourlyHistory, type Outlook } from '@duskline/domain';
import { openTestStore } from '@duskline/test-harness';
import { beforeAll, describe, expect, it } from 'vitest';
import { openStore } from './open-store.ts';
import type { OutlookInputs } from './outlook-store.ts';
import type { Store } from './store.ts';
import { createExampleNode, examplePower, randomFrom } from './testing/example-fleet.ts';

const startMs = Date.UTC(2026, 10, 25, 7);
let url: string;
let store: Store;
beforeAll(() => openTestStore((opened) => ({ store, url } = opened)));

const reset = (atMs: number) => ({
  part: 'panel',
  sinceMs: atMs,
  atMs,
  by: 'Wren Halloway',
  why: 'The panel was replaced.',
});

async function look(
  nodeId: Parameters<Store['nodes']['facts']>[0],
  more: Partial<Parameters<Store['commitAdvance']>[0]>,
) {
  return store.commitAdvance({
    nodeId,
    newsVersion: 1,
    verdict: { state: 'up', sinceMs: startMs, cause: 'It is up.', evidence: [] },
    alertChanges: [],
    memory: [],
    nextCheckAtMs: startMs + HOUR_MS,
    nowMs: startMs,
    ...more,
  });
}

describe('what was learnt', () => {
  it('survives, the newest stands, and what an older outlook knew can still be read', async () => {
    const node = await createExampleNode(store, 'learnt-one');
    const first = { learntAtMs: startMs, body: { from: 1 } };
    const second = { learntAtMs: startMs + DAY_MS, body: { from: 2 } };
    await look(node.id, { learnt: { record: first } });
    await look(node.id, { learnt: { record: second, fromMs: startMs } });
    const other = await openStore({ url });
    expect(await other.learnt.of(node.id)).toEqual(second);
    expect(await other.learnt.asOf(node.id, startMs)).toEqual(first);
    await other.close();
  });

  it('is not written over by a look that began before a reset', async () => {
    const node = await createExampleNode(store, 'learnt-reset');
    await look(node.id, { learnt: { record: { learntAtMs: startMs, body: { panel: 'old' } } } });
    await store.learnt.reset(node.id, reset(startMs + 1000), { panel: 'new' });
    await look(node.id, {
      learnt: { record: { learntAtMs: startMs + 2000, body: { panel: 'old' } }, fromMs: startMs },
    });
    expect((await store.learnt.of(node.id))?.body).toEqual({ panel: 'new' });
    expect(await store.learnt.resets(node.id)).toEqual([reset(startMs + 1000)]);
  });

  it('is reset even where the clock of another server is ahead', async () => {
    const node = await createExampleNode(store, 'learnt-ahead');
    await look(node.id, { learnt: { record: { learntAtMs: startMs + 5000, body: { a: 1 } } } });
    await store.learnt.reset(node.id, reset(startMs), { a: 2 });
    expect((await store.learnt.of(node.id))?.body).toEqual({ a: 2 });
  });
});

describe('what an outlook was made of', () => {
  const random = randomFrom(5);
  const series = (hours: number) =>
    Array.from({ length: hours }, () => (random() < 0.2 ? null : random() * 20 - 3));
  const history: HourlyHistory = {
    startMs: startMs - 70 * HOUR_MS,
    panelW: series(70),
    loadW: series(70),
    chargeRatio: series(70),
    batteryV: series(70),
    batteryA: series(70),
    batteryC: series(70),
    airC: series(70),
  };
  const outlook = (issuedAtMs: number): Outlook => ({
    kind: 'insufficient-data',
    issuedAtMs,
    horizonDays: 30,
    model: 'test',
    seed: 7,
    missing: 'days',
    have: 1,
    need: 3,
  });
  const inputs: OutlookInputs = {
    history,
    learntAtMs: startMs - DAY_MS,
    facts: {
      nowMs: startMs,
      seed: 7,
      position: { latitudeDeg: 54.4, longitudeDeg: -2.4, elevationM: 310 },
      power: examplePower,
      more: { chance: 1 / 3 },
    },
  };

  it('comes back to the last bit, with its gaps', async () => {
    const node = await createExampleNode(store, 'inputs-one');
    await look(node.id, { outlooks: [{ outlook: outlook(startMs), hindcast: false, inputs }] });
    const key = { issuedAtMs: startMs, hindcast: false };
    expect(await store.outlooks.inputs(node.id, key)).toEqual(inputs);
    expect(await store.outlooks.inputs(node.id, { ...key, hindcast: true })).toBeUndefined();
    expect(await store.outlooks.find(node.id, key)).toEqual({
      ...key,
      outlook: outlook(startMs),
      reproducible: true,
    });
  });

  it('stays as it was when the past is told otherwise afterwards', async () => {
    const node = await createExampleNode(store, 'inputs-two');
    const later = { ...history, panelW: history.panelW.map((value, i) => (i < 5 ? 9 : value)) };
    await look(node.id, { outlooks: [{ outlook: outlook(startMs), hindcast: false, inputs }] });
    await look(node.id, {
      outlooks: [
        {
          outlook: outlook(startMs + HOUR_MS),
          hindcast: false,
          inputs: { ...inputs, history: later },
        },
      ],
    });
    const of = async (issuedAtMs: number) =>
      (await store.outlooks.inputs(node.id, { issuedAtMs, hindcast: false }))?.history.panelW[0];
    expect(await of(startMs + HOUR_MS)).toBe(9);
    expect(await of(startMs)).toEqual(history.panelW[0]);
  });
});
