import {
  accountId,
  alertId,
  HOUR_MS,
  MINUTE_MS,
  type Account,
  type AlertText,
  type FieldNode,
  type Outlook,
  type StateVerdict,
} from '@duskline/domain';
import { openTestStore } from '@duskline/test-harness';
import { type Kysely, sql } from 'kysely';
import { beforeAll, describe, expect, it } from 'vitest';
import { openDatabase } from './database/open-database.ts';
import { openStore } from './open-store.ts';
import { lockRollups } from './rollup-lock.ts';
import type { Tables } from './schema.ts';
import type { Advance, Store } from './store.ts';
import { createExampleNode, exampleMessage, exampleSample } from './testing/example-fleet.ts';

const startMs = Date.UTC(2026, 10, 25, 7);
const keeper: Account = {
  id: accountId('0'),
  email: 'wren@greywater.example',
  name: 'Wren Halloway',
  role: 'coordinator',
};
const text: AlertText = {
  sentence: 'Rushy Sluice will likely stop between Fri morning and Sun evening.',
  figures: '3.1 Wh a day come in, 6.0 go out.',
  byWhen: 'Thu 26 Nov',
  todo: 'Clean the panel.',
  bring: 'A cloth.',
  cautions: ['A panel in daylight is live.'],
};
const verdict = (state: StateVerdict['state'], sinceMs: number): StateVerdict => ({
  state,
  sinceMs,
  cause: `It is ${state}.`,
  evidence: ['first', 'second'],
});
const outlook = (issuedAtMs: number): Extract<Outlook, { kind: 'empties-in' }> => ({
  kind: 'empties-in',
  issuedAtMs,
  horizonDays: 30,
  model: 'test',
  seed: 1,
  p10Days: 2,
  p50Days: 3.5,
  darkWithin3DaysProbability: 0.4,
  darkWithin7DaysProbability: 0.7,
  darkWithin14DaysProbability: 0.9,
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

let url: string;
let store: Store;
beforeAll(() => openTestStore((opened) => ({ store, url } = opened)));

/** Keeps a look that found nothing but what is given. */
async function keep(node: FieldNode, found: Partial<Advance> & { readonly nowMs: number }) {
  const { newsVersion } = await store.nodes.facts(node.id);
  return store.commitAdvance({
    nodeId: node.id,
    newsVersion,
    verdict: verdict('up', found.nowMs),
    alertChanges: [],
    memory: [],
    nextCheckAtMs: found.nowMs + HOUR_MS,
    ...found,
  });
}

describe('intervals', () => {
  it('follow each other without gap or overlap, whatever the verdicts say', async () => {
    const node = await createExampleNode(store, 'rushy-sluice');
    const say = (minute: number, state: StateVerdict['state'], sinceMinute: number) =>
      keep(node, {
        nowMs: startMs + minute * MINUTE_MS,
        verdict: verdict(state, startMs + sinceMinute * MINUTE_MS),
      });
    await say(0, 'not-yet-proved', -600);
    await say(10, 'up', 10);
    await say(20, 'up', 20);
    // Found out at 200 that it has been silent since 30.
    await say(200, 'silent-unexplained', 30);
    // Older than the interval it would replace: it takes its place, and the past stays.
    await say(210, 'dark-as-designed', 25);
    // A beginning in the future waits for nobody.
    await say(300, 'off-for-work', 900);
    const intervals = await store.intervals.list(node.id, 0, startMs + 1000 * HOUR_MS);
    expect(
      intervals.map((interval) => [
        interval.state,
        (interval.fromMs - startMs) / MINUTE_MS,
        interval.toMs === undefined ? 'now' : (interval.toMs - startMs) / MINUTE_MS,
      ]),
    ).toEqual([
      ['not-yet-proved', -600, 10],
      ['up', 10, 30],
      ['dark-as-designed', 30, 300],
      ['off-for-work', 300, 'now'],
    ]);
    expect(intervals[2]).toMatchObject({
      cause: 'It is dark-as-designed.',
      evidence: ['first', 'second'],
    });
    const around = await store.intervals.list(
      node.id,
      startMs + 40 * MINUTE_MS,
      startMs + 50 * MINUTE_MS,
    );
    expect(around.map((interval) => interval.state)).toEqual(['dark-as-designed']);
  });

  it('are told in words of their own time once they are over', async () => {
    const node = await createExampleNode(store, 'over-and-told');
    const at = (minute: number): number => startMs + minute * MINUTE_MS;
    const telling: StateVerdict = {
      ...verdict('up', at(0)),
      cause: 'It is sending right now.',
      afterwards: 'Its readings are there.',
    };
    const causes = async () =>
      (await store.intervals.list(node.id, 0, at(1000))).map(({ cause }) => cause);
    await keep(node, { nowMs: at(1), verdict: telling });
    expect(await causes()).toEqual(['It is sending right now.']);
    await keep(node, { nowMs: at(40), verdict: verdict('low', at(30)) });
    expect(await causes()).toEqual(['Its readings are there.', 'It is low.']);
    // Without such words the old ones stay.
    await keep(node, { nowMs: at(60), verdict: verdict('overdue', at(50)) });
    expect(await causes()).toEqual(['Its readings are there.', 'It is low.', 'It is overdue.']);
  });
});

describe('alerts', () => {
  it('live from new through taken to ended, with every step and its reason', async () => {
    const node = await createExampleNode(store, 'tarn-gill');
    const rule = 'forecast-low';
    await keep(node, {
      nowMs: startMs,
      alertChanges: [{ kind: 'open', rule, priority: 'P3', text, why: 'It holds.' }],
    });
    const [opened] = await store.alerts.open(node.id);
    if (opened === undefined) throw new Error('no alert');
    expect(opened).toEqual({
      id: opened.id,
      nodeId: node.id,
      siteId: 'tarn-gill',
      rule,
      priority: 'P3',
      state: 'new',
      openedAtMs: startMs,
      text,
    });
    const taken = await store.alerts.take(opened.id, keeper, startMs + MINUTE_MS);
    expect(taken).toMatchObject({
      state: 'taken',
      takenBy: 'Wren Halloway',
      takenAtMs: startMs + MINUTE_MS,
    });
    const other = { ...keeper, name: 'Tobin Ashgrove' };
    expect(await store.alerts.take(opened.id, other, startMs + 2 * MINUTE_MS)).toEqual(taken);
    await keep(node, {
      nowMs: startMs + HOUR_MS,
      alertChanges: [{ kind: 'update', id: opened.id, priority: 'P2', text, why: 'Sooner.' }],
    });
    await keep(node, {
      nowMs: startMs + 2 * HOUR_MS,
      alertChanges: [{ kind: 'end', id: opened.id, why: 'Over.' }],
    });
    expect(await store.alerts.open(node.id)).toEqual([]);
    expect((await store.alerts.listOpen()).filter((alert) => alert.nodeId === node.id)).toEqual([]);
    expect(
      (await store.alerts.history(opened.id)).map(({ kind, state, priority, by, why }) =>
        [kind, state, priority, by, why].join(' | '),
      ),
    ).toEqual([
      'open | new | P3 |  | It holds.',
      'take | taken | P3 | Wren Halloway | Taken by Wren Halloway.',
      'update | taken | P2 |  | Sooner.',
      'end | ended | P2 |  | Over.',
    ]);
  });

  it('that nobody took stay on the list until somebody has seen them, and the rule may open another', async () => {
    const node = await createExampleNode(store, 'otter-stones');
    const open = { kind: 'open', rule: 'charge-low', priority: 'P2', text, why: 'Low.' } as const;
    await keep(node, { nowMs: startMs, alertChanges: [open] });
    const [first] = await store.alerts.open(node.id);
    if (first === undefined) throw new Error('no alert');
    await keep(node, {
      nowMs: startMs + HOUR_MS,
      alertChanges: [{ kind: 'end', id: first.id, why: 'Over.' }],
    });
    await keep(node, { nowMs: startMs + 2 * HOUR_MS, alertChanges: [open] });
    const listed = (await store.alerts.listOpen()).filter((alert) => alert.nodeId === node.id);
    expect(listed.map((alert) => alert.state)).toEqual(['ended-unseen', 'new']);
    expect((await store.alerts.seen(first.id, keeper, startMs + 3 * HOUR_MS))?.state).toBe('ended');
    expect(await store.alerts.open(node.id)).toHaveLength(1);
  });

  it('are opened once for a rule however often the same finding is kept, and by two servers at once', async () => {
    const node = await createExampleNode(store, 'brackwell-ford');
    const open = { kind: 'open', rule: 'charge-low', priority: 'P2', text, why: 'Low.' } as const;
    await Promise.all(
      Array.from({ length: 6 }, () => keep(node, { nowMs: startMs, alertChanges: [open] })),
    );
    expect(await store.alerts.open(node.id)).toHaveLength(1);
  });

  it.each(['', '1', '0-1', '1-1-1', '99999999999-1', "1-1'; drop table alert"])(
    'has none of the id %j, and says so plainly',
    async (id) => {
      expect(await store.alerts.take(alertId(id), keeper, startMs)).toBeUndefined();
      expect(await store.alerts.history(alertId(id))).toEqual([]);
    },
  );
});

describe('one look', () => {
  it('keeps what the rules remember, and forgets what they no longer name', async () => {
    const node = await createExampleNode(store, 'long-moss');
    const first = { rule: 'charge-low', holdingSinceMs: startMs };
    const second = { rule: 'forecast-low', clearSinceMs: startMs, runs: 2, evidenceAtMs: 5 };
    await keep(node, { nowMs: startMs, memory: [first, second] });
    expect(await store.alerts.memory(node.id)).toEqual([first, second]);
    await keep(node, { nowMs: startMs, memory: [{ ...second, runs: 3 }] });
    expect(await store.alerts.memory(node.id)).toEqual([{ ...second, runs: 3 }]);
    await keep(node, { nowMs: startMs });
    expect(await store.alerts.memory(node.id)).toEqual([]);
  });

  it('finds again the newest outlook, the last while alive and the first of a darkness', async () => {
    const node = await createExampleNode(store, 'high-cairn');
    const back = { kind: 'expected-back', window: { p10Ms: startMs + 9 * HOUR_MS } } as const;
    const alive = outlook(startMs);
    const darkFrom = startMs + HOUR_MS;
    const firstDark: Outlook = { ...alive, issuedAtMs: darkFrom, back, whileDark: true };
    const laterDark: Outlook = { ...firstDark, issuedAtMs: darkFrom + HOUR_MS };
    const kept = (outlooks: Outlook[], hindcast: boolean) =>
      outlooks.map((each) => ({ outlook: each, hindcast }));
    await keep(node, { nowMs: startMs, outlooks: kept([outlook(startMs - HOUR_MS)], false) });
    await keep(node, { nowMs: startMs, outlooks: kept([alive], false) });
    await keep(node, { nowMs: startMs, outlooks: kept([laterDark], false) });
    await keep(node, { nowMs: startMs, outlooks: kept([firstDark], true) });
    expect(await store.outlooks.latest(node.id)).toEqual(laterDark);
    expect(await store.outlooks.lastAlive(node.id)).toEqual(alive);
    expect(await store.outlooks.firstDark(node.id, darkFrom)).toEqual(firstDark);
    expect(await store.outlooks.firstDark(node.id, darkFrom + 2 * HOUR_MS)).toBeUndefined();
  });

  it('keeps nothing when a look at later news was kept before', async () => {
    const node = await createExampleNode(store, 'sallow-bridge');
    const old = await store.nodes.facts(node.id);
    await store.samples.accept([
      exampleMessage('sallow-bridge', {
        receivedAtMs: startMs,
        samples: [exampleSample(startMs, { batt_v: 12 })],
      }),
    ]);
    expect(await keep(node, { nowMs: startMs, verdict: verdict('up', startMs) })).toBe('committed');
    expect(
      await keep(node, {
        nowMs: startMs + MINUTE_MS,
        newsVersion: old.newsVersion,
        verdict: verdict('overdue', startMs + MINUTE_MS),
      }),
    ).toBe('outdated');
    expect((await store.views.site(node.siteId))?.verdict?.state).toBe('up');
  });

  it('settles a node until news or its next look come due', async () => {
    const node = await createExampleNode(store, 'peat-hag');
    const isDue = async (nowMs: number) => (await store.nodes.due(nowMs, 1000)).includes(node.id);
    expect(await isDue(startMs)).toBe(true);
    await keep(node, { nowMs: startMs, nextCheckAtMs: startMs + HOUR_MS });
    expect(await isDue(startMs + HOUR_MS - 1)).toBe(false);
    expect(await isDue(startMs + HOUR_MS)).toBe(true);
    await store.samples.accept([
      exampleMessage('peat-hag', {
        receivedAtMs: startMs,
        samples: [exampleSample(startMs, { batt_v: 12 })],
      }),
    ]);
    expect(await isDue(startMs)).toBe(true);
  });

  it('keeps all or nothing', async () => {
    const node = await createExampleNode(store, 'withy-weir');
    const wrong = { ...verdict('up', startMs), cause: null as unknown as string };
    const open = { kind: 'open', rule: 'charge-low', priority: 'P2', text, why: 'Low.' } as const;
    await keep(node, { nowMs: startMs });
    const before = await store.views.site(node.siteId);
    await expect(
      keep(node, {
        nowMs: startMs,
        outlooks: [{ outlook: outlook(startMs), hindcast: false }],
        alertChanges: [open, { ...open, rule: 'forecast-low', text: null as unknown as AlertText }],
      }),
    ).rejects.toThrow();
    await expect(keep(node, { nowMs: startMs, verdict: wrong })).rejects.toThrow();
    expect(await store.views.site(node.siteId)).toEqual(before);
  });

  it('is told to every server, with the node it was about', async () => {
    const node = await createExampleNode(store, 'blea-edge');
    const otherServer = await openStore({ url });
    const heard: string[] = [];
    const stop = await otherServer.listen(
      'duskline_live',
      (payload) => heard.push(payload),
      () => heard.push('resync'),
    );
    await keep(node, { nowMs: startMs });
    await expect.poll(() => heard).toEqual([String(node.id)]);
    await stop();
    await keep(node, { nowMs: startMs });
    await otherServer.close();
    expect(heard).toEqual([String(node.id)]);
  });
});

describe('the charge by the day', () => {
  // Found in the demo: a look and a rollup of the same node ended each other.
  it('is written by one at a time, be it a look or a rollup, in whatever order they take the days', async () => {
    const node = await createExampleNode(store, 'ouzel-force');
    const days = [startMs, startMs + 24 * HOUR_MS] as const;
    const pastCharges = days.map((observedAtMs) => ({
      ratio: 0.5,
      lowRatio: 0.4,
      highRatio: 0.6,
      method: 'rest-voltage' as const,
      observedAtMs,
    }));
    await keep(node, { nowMs: startMs, pastCharges });
    const rollups = openDatabase<Tables>({ url });
    const refresh = (trx: Kysely<Tables>, atMs: number) =>
      sql`select refresh_charge_day(${node.id}::integer, date_bin('1 day', to_timestamp(${atMs}::float8 / 1000), 'epoch'))`.execute(
        trx,
      );
    let look: Promise<unknown> | undefined;
    try {
      await rollups.transaction(async (trx) => {
        await lockRollups(trx, node.id);
        await refresh(trx, days[1]);
        look = keep(node, { nowMs: startMs, pastCharges });
        look.catch(() => undefined);
        await expect
          .poll(async () => {
            const [row] = await rollups.sql<{ waiting: number }[]>`
              select count(*)::integer as waiting from pg_locks where not granted`;
            return row?.waiting;
          })
          .toBeGreaterThan(0);
        await refresh(trx, days[0]);
      });
      expect(await look).toBe('committed');
    } finally {
      await rollups.close();
    }
  });
});
