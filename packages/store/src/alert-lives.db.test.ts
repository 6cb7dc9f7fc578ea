import { alertId, DAY_MS, FLEET_NUMBER, HOUR_MS, MINUTE_MS } from '@duskline/domain';
import { openTestStore, type TestStore } from '@duskline/test-harness';
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

// Lifecycle after ISA-18.2 as OPC 10000-9 (5.8) publishes it: acknowledge, timed shelving that survives a restart.

let openAnother: TestStore['openAnother'];
let store: Store;
let sql: postgres.Sql;
let count = 0;
beforeAll(() => openTestStore((opened) => ({ store, sql, openAnother } = opened)));

const opened = (rule?: string) => openExampleAlert(store, `lives-${++count}`, rule);
const toCall = (id: string) => isToCall(sql, id);

describe('the life of an alert', () => {
  it('is to be told when it opens, and to nobody once it is taken', async () => {
    const { alert } = await opened();
    expect(await toCall(alert.id)).toBe(true);
    const outcome = await store.alerts.step(
      alert.id,
      { kind: 'take', untilMs: startMs + DAY_MS },
      ines,
      startMs + MINUTE_MS,
    );
    expect(outcome).toMatchObject({
      kind: 'done',
      alert: { state: 'taken', takenBy: 'Ines Tarn', takenUntilMs: startMs + DAY_MS },
    });
    expect(await toCall(alert.id)).toBe(false);
  });

  it('is paused only with an end, is told again after it, and the pause survives a restart', async () => {
    const { alert } = await opened();
    const untilMs = startMs + 2 * DAY_MS;
    await store.alerts.step(
      alert.id,
      { kind: 'pause', untilMs, why: 'Path flooded' },
      ines,
      startMs,
    );
    await store.close();
    store = await openAnother();
    expect(await store.alerts.find(alert.id)).toMatchObject({
      state: 'paused',
      paused: { by: 'Ines Tarn', untilMs, why: 'Path flooded' },
    });
    expect(await store.alerts.endPauses(untilMs - 1)).toBe(0);
    expect(await store.alerts.endPauses(untilMs)).toBe(1);
    expect(await store.alerts.find(alert.id)).toMatchObject({ state: 'new' });
    expect((await store.alerts.find(alert.id))?.paused).toBeUndefined();
    expect(await toCall(alert.id)).toBe(true);
    await expect(sql`update alert set state = 'paused', paused_until = null`).rejects.toThrow(
      'paused_with_an_end',
    );
  });

  const pausing = { kind: 'pause', untilMs: startMs + DAY_MS, why: 'Path flooded' } as const;

  it.each(['by hand', 'by its end'])('is whose it was when a pause ends %s', async (how) => {
    const { alert } = await opened();
    await store.alerts.step(alert.id, { kind: 'take' }, ines, startMs);
    await store.alerts.step(alert.id, pausing, wren, startMs + 1);
    if (how === 'by hand') await store.alerts.step(alert.id, { kind: 'resume' }, wren, startMs + 2);
    else await store.alerts.endPauses(pausing.untilMs);
    expect(await store.alerts.find(alert.id)).toMatchObject({
      state: 'taken',
      takenBy: 'Ines Tarn',
      takenAtMs: startMs,
    });
    // Whose it is hears that it asks for them again.
    expect(await toCall(alert.id)).toBe(true);
  });

  it('calls nobody when whose it is ends the pause, and is nobody’s when nobody had it', async () => {
    const { alert: theirs } = await opened();
    await store.alerts.step(theirs.id, { kind: 'take' }, ines, startMs);
    await store.alerts.step(theirs.id, pausing, ines, startMs + 1);
    await store.alerts.step(theirs.id, { kind: 'resume' }, ines, startMs + 2);
    expect(await toCall(theirs.id)).toBe(false);
    const { alert: free } = await opened();
    await store.alerts.step(free.id, pausing, ines, startMs + 1);
    await store.alerts.step(free.id, { kind: 'resume' }, ines, startMs + 2);
    expect(await store.alerts.find(free.id)).toMatchObject({ state: 'new' });
    expect((await store.alerts.find(free.id))?.takenBy).toBeUndefined();
    expect(await toCall(free.id)).toBe(true);
    // No row may say both: nobody has it, and somebody does.
    await expect(sql`update alert set state = 'new', taken_by = 'Ines Tarn'`).rejects.toThrow(
      'new_is_nobodys',
    );
  });

  it('goes to somebody else, who has not taken it yet', async () => {
    const { alert } = await opened();
    await store.alerts.step(alert.id, { kind: 'take' }, ines, startMs);
    const handed = await store.alerts.step(
      alert.id,
      { kind: 'hand-over', to: wren, note: 'The gate code is new.' },
      ines,
      startMs + 1,
    );
    expect(handed).toMatchObject({
      kind: 'done',
      alert: {
        state: 'new',
        handedTo: 'Wren Halloway',
        handedSays: 'Handed to Wren Halloway by Ines Tarn: The gate code is new.',
      },
    });
    expect(await toCall(alert.id)).toBe(true);
    const history = await store.alerts.history(alert.id);
    expect(history.map(({ kind, by }) => `${kind} ${by ?? 'rules'}`)).toEqual([
      'open rules',
      'take Ines Tarn',
      'hand-over Ines Tarn',
    ]);
  });

  it('keeps notes without changing its state, and refuses what does not start from it', async () => {
    const { alert } = await opened();
    await store.alerts.step(alert.id, { kind: 'note', text: 'Gate locked.' }, ines, startMs);
    expect((await store.alerts.find(alert.id))?.state).toBe('new');
    expect((await store.alerts.history(alert.id)).at(-1)).toMatchObject({
      kind: 'note',
      why: 'Gate locked.',
      by: 'Ines Tarn',
    });
    expect(await store.alerts.step(alert.id, { kind: 'seen' }, ines, startMs)).toMatchObject({
      kind: 'not-now',
      why: 'The alert is new.',
    });
    expect(await store.alerts.step(alertId('999999-1'), { kind: 'take' }, ines, startMs)).toEqual({
      kind: 'no-such-alert',
    });
  });

  it('joins the first of its cause and calls nobody for it, unless people are in danger', async () => {
    const { node, alert } = await opened('charging-fault');
    await store.commitAdvance(
      look(node, {
        newsVersion: 1,
        alertChanges: [
          { kind: 'open', rule: 'charge-low', priority: 'P2', text, why: 'low', joins: alert.id },
          {
            kind: 'open',
            rule: 'battery-temperature',
            priority: 'P1',
            text,
            why: 'hot',
            joins: alert.id,
          },
        ],
      }),
    );
    const open = await store.alerts.open(node.id);
    expect(open.map(({ rule, joins }) => `${rule} ${joins ?? 'alone'}`)).toEqual([
      'charging-fault alone',
      `charge-low ${alert.id}`,
      `battery-temperature ${alert.id}`,
    ]);
    expect(await Promise.all(open.map(({ id }) => toCall(id)))).toEqual([true, false, true]);
  });

  it('is kept for the fleet as a whole, one a subject', async () => {
    const change = (subject: string) =>
      ({
        kind: 'open',
        rule: 'shared-link-down',
        priority: 'P2',
        text,
        why: 'silent',
        subject,
      }) as const;
    await store.commitFleet({
      alertChanges: [change('Moornet'), change('Dalecall'), change('Moornet')],
      memory: [
        { rule: 'not-ours', holdingSinceMs: startMs },
        { rule: 'nobody-coming', subject: 'rota', runs: 2 },
      ],
      nowMs: startMs,
    });
    const open = await store.alerts.open(FLEET_NUMBER);
    expect(open.map(({ id, subject }) => [id, subject])).toEqual([
      ['0-1', 'Moornet'],
      ['0-2', 'Dalecall'],
    ]);
    expect(await store.alerts.memory(FLEET_NUMBER)).toHaveLength(2);
    expect(await store.alerts.step(alertId('0-1'), { kind: 'take' }, wren, startMs)).toMatchObject({
      kind: 'done',
    });
    await store.commitFleet({
      alertChanges: [{ kind: 'end', id: alertId('0-1'), why: 'back' }],
      memory: [],
      nowMs: startMs + HOUR_MS,
    });
    expect((await store.alerts.find(alertId('0-1')))?.state).toBe('ended');
    expect(await store.alerts.memory(FLEET_NUMBER)).toEqual([]);
  });
});

describe('what is kept beside the alerts', () => {
  it('writes the logbook and the ranked causes with the look that found them', async () => {
    const node = await createExampleNode(store, `lives-${++count}`);
    const power = { question: 'power', madeAtMs: startMs, causes: [] } as const;
    await store.commitAdvance(
      look(node, {
        events: [
          {
            siteId: node.siteId,
            nodeId: node.id,
            atMs: startMs,
            kind: 'first-light',
            sentence: 'It is back.',
          },
        ],
        diagnoses: { power },
      }),
    );
    await store.events.add({
      siteId: node.siteId,
      atMs: startMs + 1,
      kind: 'note',
      sentence: 'Wasps in the box.',
      by: 'Ines Tarn',
    });
    const events = await store.events.list(node.siteId, {
      fromMs: startMs,
      toMs: startMs + DAY_MS,
      limit: 10,
    });
    expect(events.map(({ kind, by }) => [kind, by])).toEqual([
      ['note', 'Ines Tarn'],
      ['first-light', undefined],
    ]);
    expect(await store.diagnoses.of(node.id)).toEqual({ power });
    await store.commitAdvance(look(node, { newsVersion: 1, diagnoses: { power: null } }));
    expect(await store.diagnoses.of(node.id)).toEqual({});
  });

  it('keeps gaps somebody accepts, until they end or are ended', async () => {
    const node = await createExampleNode(store, `lives-${++count}`);
    const gap = await store.acceptedGaps.accept({
      siteId: node.siteId,
      fromMs: startMs,
      untilMs: startMs + 40 * DAY_MS,
      by: 'Wren Halloway',
      reason: 'No sun in the gill',
    });
    expect(await store.acceptedGaps.list(startMs, node.siteId)).toEqual([gap]);
    expect(await store.acceptedGaps.list(startMs + 41 * DAY_MS, node.siteId)).toEqual([]);
    await store.acceptedGaps.end(gap.id, startMs + DAY_MS);
    expect(await store.acceptedGaps.list(startMs, node.siteId)).toEqual([]);
    expect(await store.acceptedGaps.end(gap.id, startMs)).toBeUndefined();
    expect(await store.acceptedGaps.between(node.siteId, startMs, startMs + HOUR_MS)).toHaveLength(
      1,
    );
  });

  it('lets a node’s setting go before its site’s and the fleet’s, and takes it back', async () => {
    const node = await createExampleNode(store, `lives-${++count}`);
    const set = (
      scope: 'fleet' | 'site' | 'node',
      subject: string,
      value: number | null,
      minute: number,
    ) =>
      store.ruleSettings.set({
        scope,
        subject,
        rule: 'charge-low',
        setting: 'raiseAbovePoints',
        value,
        by: 'Wren Halloway',
        atMs: startMs + minute * MINUTE_MS,
      });
    const now = async () => (await store.ruleSettings.of(node))['charge-low']?.['raiseAbovePoints'];
    await set('fleet', '', 12, 1);
    expect(await now()).toBe(12);
    await set('node', String(node.id), 20, 2);
    await set('site', node.siteId, 16, 3);
    expect(await now()).toBe(20);
    await set('node', String(node.id), null, 4);
    expect(await now()).toBe(16);
    expect((await store.ruleSettings.ofFleet())['charge-low']).toEqual({ raiseAbovePoints: 12 });
    expect((await store.ruleSettings.history(10)).map(({ value }) => value)).toEqual([
      null,
      16,
      20,
      12,
    ]);
  });
});
