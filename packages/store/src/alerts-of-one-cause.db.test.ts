import { alertId, HOUR_MS, type AlertId } from '@duskline/domain';
import { openTestStore } from '@duskline/test-harness';
import type postgres from 'postgres';
import { beforeAll, describe, expect, it } from 'vitest';
import type { Store } from './store.ts';
import {
  ines,
  isToCall,
  look,
  openExampleAlert,
  startMs,
  text,
  wren,
} from './testing/alert-example.ts';
import { createExampleNode } from './testing/example-fleet.ts';

// A charging fault, what follows from it, and a danger that came with it: one physical cause is one alert to act on.

let store: Store;
let sql: postgres.Sql;
let count = 0;
beforeAll(() => openTestStore((opened) => ({ store, sql } = opened)));

const opened = (rule?: string) => openExampleAlert(store, `lives-${++count}`, rule);
const toCall = (id: string) => isToCall(sql, id);

describe('alerts of one cause', () => {
  /** A fault, what follows from it, and a danger that came with it. */
  async function cause() {
    const { node, alert } = await opened('charging-fault');
    const open = (rule: string, priority: 'P1' | 'P2', joins = alert.id) =>
      store.commitAdvance(
        look(node, {
          newsVersion: 1,
          alertChanges: [{ kind: 'open', rule, priority, text, why: rule, joins }],
        }),
      );
    const end = (id: AlertId) =>
      store.commitAdvance(
        look(node, { newsVersion: 1, alertChanges: [{ kind: 'end', id, why: 'Over.' }] }),
      );
    await open('charge-low', 'P2');
    await open('battery-temperature', 'P1');
    const states = async () =>
      Object.fromEntries(
        (await store.alerts.open(node.id)).map(({ rule, state, takenBy }) => [
          rule,
          takenBy === undefined ? state : `${state} by ${takenBy}`,
        ]),
      );
    const id = (number: number) => alertId(`${node.id}-${number}`);
    return { node, alert, open, end, states, id };
  }

  it('is taken, handed over, paused and seen as one; a danger to people is taken by itself', async () => {
    const { alert, states, id, end } = await cause();
    await store.alerts.step(alert.id, { kind: 'take' }, ines, startMs);
    expect(await states()).toEqual({
      'charging-fault': 'taken by Ines Tarn',
      'charge-low': 'taken by Ines Tarn',
      'battery-temperature': 'new',
    });
    await store.alerts.step(alert.id, { kind: 'hand-over', to: wren }, ines, startMs);
    expect(await states()).toMatchObject({ 'charging-fault': 'new', 'charge-low': 'new' });
    // Whoever is asked is asked once.
    expect(await Promise.all([1, 2].map((n) => toCall(id(n))))).toEqual([true, false]);
    const pause = { kind: 'pause', untilMs: startMs + HOUR_MS, why: 'Wind.' } as const;
    await store.alerts.step(alert.id, pause, ines, startMs);
    expect(await states()).toMatchObject({
      'charge-low': 'paused',
      'battery-temperature': 'new',
    });
    await store.alerts.endPauses(startMs + HOUR_MS);
    expect(await Promise.all([1, 2].map((n) => toCall(id(n))))).toEqual([true, false]);
    await end(id(1));
    await end(id(2));
    await store.alerts.step(alert.id, { kind: 'seen' }, ines, startMs);
    const listed = (await store.alerts.listOpen()).map((one) => one.id);
    expect(listed).not.toContain(id(2));
    expect(listed).toContain(id(3));
  });

  it('is taken whole by whoever takes what joined it, but a note stays where it was written', async () => {
    const { states, id } = await cause();
    await store.alerts.step(id(2), { kind: 'note', text: 'Gate locked.' }, ines, startMs);
    expect((await store.alerts.history(id(1))).map(({ kind }) => kind)).not.toContain('note');
    await store.alerts.step(id(2), { kind: 'take' }, ines, startMs);
    expect(await states()).toMatchObject({ 'charging-fault': 'taken by Ines Tarn' });
  });

  it('calls once: at the first that cannot wait for the morning letter', async () => {
    const node = await createExampleNode(store, `lives-${++count}`);
    const id = (number: number) => alertId(`${node.id}-${number}`);
    const change = (over: object) =>
      store.commitAdvance(
        look(node, { newsVersion: 1, alertChanges: [{ text, why: '', ...over } as never] }),
      );
    // As after the letter was written: nobody is to be called for it.
    const waits = () => sql`update alert set next_call_at = null where node_id = ${node.id}`;
    await change({ kind: 'open', rule: 'battery-ageing', priority: 'P3' });
    await waits();
    await change({ kind: 'open', rule: 'forecast-low', priority: 'P3', joins: id(1) });
    expect(await toCall(id(2))).toBe(false);
    await change({ kind: 'update', id: id(2), priority: 'P2' });
    expect(await toCall(id(2))).toBe(true);
    await waits();
    const first = { joins: id(1), callsAllTheSame: true };
    await change({ kind: 'open', rule: 'charge-low', priority: 'P2', ...first });
    expect(await toCall(id(3))).toBe(true);
    await waits();
    // It was told of by the others.
    await change({ kind: 'update', id: id(1), priority: 'P2' });
    expect(await toCall(id(1))).toBe(false);
  });

  it('is somebody’s from the start when it joins what was taken', async () => {
    const { alert, open, states } = await cause();
    await store.alerts.step(alert.id, { kind: 'take' }, ines, startMs);
    await open('forecast-low', 'P2');
    await open('repeated-restarts', 'P1');
    expect(await states()).toMatchObject({
      'forecast-low': 'taken by Ines Tarn',
      'repeated-restarts': 'new',
    });
  });
});
