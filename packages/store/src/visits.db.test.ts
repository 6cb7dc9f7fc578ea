import { accountId, visitProgress, type SiteId, type VisitStep } from '@duskline/domain';
import { openTestStore } from '@duskline/test-harness';
import { randomUUID } from 'node:crypto';
import { beforeAll, describe, expect, it } from 'vitest';
import { StoreConflictError } from './errors.ts';
import { openStore } from './open-store.ts';
import type { Store } from './store.ts';
import { createExampleNode } from './testing/example-fleet.ts';

const HOUR = 3_600_000;
const startMs = Date.UTC(2026, 10, 25, 9);
let url: string;
let store: Store;
let ash: string;
beforeAll(() =>
  openTestStore(async (opened) => {
    ({ store, url } = opened);
    for (const id of ['rushy-sluice', 'tarn-gill', 'long-moss', 'cold-spout'])
      await createExampleNode(store, id);
    const account = await store.accounts.create({
      email: 'ash@greywater.example',
      name: 'Ash Fell',
      role: 'volunteer',
      passwordHash: '-',
    });
    ash = account.id;
  }),
);

const planOf = (siteId: string, over: object = {}) => ({
  id: randomUUID(),
  siteId: siteId as SiteId,
  plannedAtMs: startMs,
  personId: accountId(ash),
  why: 'It may stop on Friday.',
  plannedBy: 'Wren Halloway',
  madeAtMs: startMs - 24 * HOUR,
  ...over,
});
const setOut = (over: object = {}): VisitStep => ({
  id: randomUUID(),
  atMs: startMs,
  kind: 'set-out',
  backByMs: startMs + 4 * HOUR,
  companions: '',
  cautions: ['site', 'lithium'],
  ...over,
});
const back = (over: object = {}): VisitStep => ({
  id: randomUUID(),
  atMs: startMs + 3 * HOUR,
  kind: 'back',
  found: 'Moss on the panel.',
  deeds: ['cleaned-panel', 'changed-card'],
  ...over,
});
const about = { by: 'Ash Fell', nowMs: startMs + 5 * HOUR };
const logbook = async (siteId: string) =>
  (
    await store.events.list(siteId as SiteId, {
      fromMs: 0,
      toMs: startMs + 400 * 24 * HOUR,
      limit: 50,
    })
  ).map(({ sentence }) => sentence);

describe('visits', () => {
  it('are planned once, however often that is sent, and found in their time', async () => {
    const plan = planOf('rushy-sluice', { round: { id: randomUUID(), place: 2 } });
    const [kept] = await store.visits.plan([plan]);
    await store.visits.plan([{ ...plan, why: 'otherwise' }]);
    expect(kept).toEqual({ ...plan, person: 'Ash Fell', ...visitProgress([]), verdicts: [] });
    const around = { fromMs: startMs - HOUR, toMs: startMs + HOUR };
    expect(await store.visits.list({ ...around, siteId: plan.siteId })).toEqual([kept]);
    expect(await store.visits.list({ ...around, states: ['done'] })).toEqual([]);
    expect(await store.visits.list({ fromMs: startMs + HOUR, toMs: startMs + 2 * HOUR })).toEqual(
      [],
    );
    expect(await store.visits.find('nonsense')).toBeUndefined();
    expect(await logbook('rushy-sluice')).toEqual([
      'Visit planned: Ash Fell means to set out Wed 25 Nov 09:00 UTC. Why: It may stop on Friday.',
    ]);
  });

  it('and duties are told to every server, on one channel', async () => {
    const other = await openStore({ url });
    const heard: string[] = [];
    const stop = await other.listen(
      'duskline_plans',
      (payload) => heard.push(payload),
      () => undefined,
    );
    const plan = planOf('rushy-sluice');
    await store.visits.plan([plan, planOf('tarn-gill')]);
    await expect.poll(() => heard.toSorted()).toEqual(['visit rushy-sluice', 'visit tarn-gill']);
    // Sent again it is no news.
    await store.visits.plan([plan]);
    await store.visits.step(plan.id, [setOut(), back()], about);
    await expect.poll(() => heard.slice(2)).toEqual(['visit rushy-sluice']);
    const start = '2026-11-25T18:00:00';
    const shift = await store.rota.add({
      personId: accountId(ash),
      start,
      durationMinutes: 600,
      timeZone: 'Europe/London',
      recurrence: '',
    });
    await expect.poll(() => heard.slice(3)).toEqual(['rota']);
    await store.rota.swap(
      shift.id,
      { start, to: accountId(ash) },
      { name: 'Ash Fell', atMs: startMs },
    );
    await expect.poll(() => heard.slice(3)).toEqual(['rota', 'rota']);
    await store.rota.except(shift.id, start);
    await store.rota.end(shift.id, startMs);
    await expect.poll(() => heard.slice(3)).toHaveLength(4);
    await stop();
    await other.close();
  });

  it('to nowhere, or by nobody, are refused', async () => {
    for (const plan of [
      planOf('no-such-site'),
      planOf('tarn-gill', { personId: accountId(randomUUID()) }),
      planOf('tarn-gill', { personId: accountId('not-a-uuid') }),
    ])
      await expect(store.visits.plan([plan])).rejects.toThrow(StoreConflictError);
  });

  it('keep steps once, whatever comes late or twice, and tell the logbook', async () => {
    const plan = planOf('tarn-gill');
    await store.visits.plan([plan]);
    const [out, tick, home] = [
      setOut(),
      { id: randomUUID(), atMs: startMs + HOUR, kind: 'tick', item: 'first-1' } as const,
      back(),
    ];
    await store.visits.step(plan.id, [home], about);
    await Promise.all([
      store.visits.step(plan.id, [tick, out, home], about),
      store.visits.step(plan.id, [out, tick], about),
    ]);
    const kept = await store.visits.find(plan.id);
    expect(kept).toMatchObject({
      state: 'done',
      setOutAtMs: startMs,
      backAtMs: startMs + 3 * HOUR,
      ticked: ['first-1'],
      deeds: ['cleaned-panel', 'changed-card'],
    });
    const isPlan = (says: string) => says.startsWith('Visit planned');
    const said = await logbook('tarn-gill');
    // One for each of the two visits that were planned there.
    expect(said.filter(isPlan)).toHaveLength(2);
    expect(said.filter((says) => !isPlan(says))).toEqual([
      'Ash Fell cleaned the panel and changed the memory card. Found: Moss on the panel.',
      'Ash Fell set out, to be back by Wed 25 Nov 13:00 UTC.',
    ]);
    expect((await store.visits.lastDone()).get('tarn-gill' as SiteId)).toBe(startMs + 3 * HOUR);
    expect(await store.visits.step(randomUUID(), [out], about)).toBeUndefined();
  });

  it('are added to after they were reported, and the logbook says by whom', async () => {
    const plan = planOf('cold-spout');
    await store.visits.plan([plan]);
    const add: VisitStep = {
      id: randomUUID(),
      atMs: startMs + 20 * HOUR,
      kind: 'add',
      by: 'Wren Halloway',
      found: 'The ford was high.',
      deeds: ['cut-growth'],
    };
    const first = [setOut(), back({ found: '', deeds: [] })];
    await store.visits.step(plan.id, first, about);
    const later = { by: 'Wren Halloway', nowMs: startMs + 21 * HOUR };
    for (let turn = 0; turn < 2; turn++) await store.visits.step(plan.id, [add], later);
    expect(await store.visits.find(plan.id)).toMatchObject({
      state: 'done',
      deeds: ['cut-growth'],
      added: [{ by: 'Wren Halloway', atMs: startMs + 20 * HOUR, found: 'The ford was high.' }],
    });
    const lines = (await logbook('cold-spout')).filter((line) => line.includes('added'));
    expect(lines).toEqual([
      'Wren Halloway added to the report of Ash Fell’s visit: cut growth back. Found: The ford was high.',
    ]);
  });

  it('under way are known to the site, until back or long forgotten, and have its node looked at', async () => {
    const plan = planOf('long-moss');
    await store.visits.plan([plan]);
    const node = (await store.nodes.list()).find(({ siteId }) => siteId === plan.siteId);
    const news = async () => (await store.nodes.facts(node!.id)).newsVersion;
    const before = await news();
    const on = (atMs: number) => store.visits.underWay(plan.siteId, atMs);
    expect(await on(startMs + HOUR)).toBe(false);
    await store.visits.step(plan.id, [setOut()], { ...about, work: { bring: ['brush'] } });
    expect(await news()).toBeGreaterThan(before);
    expect([await on(startMs - 1), await on(startMs + HOUR)]).toEqual([false, true]);
    // Twelve hours after the time they gave.
    expect([await on(startMs + 16 * HOUR - 1), await on(startMs + 16 * HOUR)]).toEqual([
      true,
      false,
    ]);
    const out = await store.visits.out();
    expect(out.map(({ id }) => id)).toEqual([plan.id]);
    expect(out[0]?.work).toEqual({ bring: ['brush'] });
    await store.visits.step(plan.id, [back()], { ...about, work: { bring: [] } });
    expect(await on(startMs + HOUR)).toBe(false);
    expect(await store.visits.out()).toEqual([]);
    // What was planned for when they set out stays.
    expect((await store.visits.find(plan.id))?.work).toEqual({ bring: ['brush'] });
  });

  it('are moved while only planned, out of their round, once, and the logbook says why', async () => {
    const plan = planOf('rushy-sluice', { round: { id: randomUUID(), place: 2 } });
    await store.visits.plan([plan]);
    const move = {
      plannedAtMs: startMs + 24 * HOUR,
      personId: accountId(ash),
      why: 'The ford is in flood.',
      by: 'Wren Halloway',
      nowMs: startMs,
    };
    const moved = await store.visits.move(plan.id, move);
    expect(moved).toMatchObject({ plannedAtMs: startMs + 24 * HOUR, state: 'planned' });
    expect(moved?.round).toBeUndefined();
    await store.visits.move(plan.id, move);
    // The reason stays with the visit, and once only.
    expect((await store.visits.find(plan.id))?.moves).toEqual([
      {
        atMs: startMs,
        by: 'Wren Halloway',
        why: 'The ford is in flood.',
        fromMs: startMs,
        toMs: startMs + 24 * HOUR,
        fromPerson: 'Ash Fell',
        toPerson: 'Ash Fell',
      },
    ]);
    const told = (await logbook('rushy-sluice')).filter((says) => says.startsWith('Visit moved'));
    expect(told).toEqual([
      'Visit moved: Ash Fell means to set out Thu 26 Nov 09:00 UTC. Why: The ford is in flood.',
    ]);
    await expect(
      store.visits.move(plan.id, { ...move, personId: accountId(randomUUID()) }),
    ).rejects.toThrow(StoreConflictError);
    await store.visits.step(plan.id, [setOut()], about);
    expect(await store.visits.move(plan.id, { ...move, plannedAtMs: startMs })).toBeUndefined();
    expect(await store.visits.move(randomUUID(), move)).toBeUndefined();
  });

  it('are judged once for each horizon, and the logbook says so', async () => {
    const plan = planOf('cold-spout');
    await store.visits.plan([plan]);
    await store.visits.step(plan.id, [setOut(), back()], about);
    const waiting = async (horizon: '48h' | '14d') =>
      (await store.visits.unjudged(horizon, startMs + 4 * HOUR)).map(({ id }) => id);
    expect(await waiting('48h')).toContain(plan.id);
    expect(await store.visits.unjudged('48h', startMs + HOUR)).toEqual([]);
    const verdict = {
      kind: 'cannot-tell',
      horizon: '48h',
      says: '48 hours after the visit: no.',
    } as const;
    const laterMs = startMs + 72 * HOUR;
    expect(await store.visits.judge(plan.id, verdict, laterMs)).toBe(true);
    expect(await store.visits.judge(plan.id, { ...verdict, says: 'again' }, laterMs)).toBe(false);
    expect(await waiting('48h')).not.toContain(plan.id);
    expect(await waiting('14d')).toContain(plan.id);
    expect((await store.visits.find(plan.id))?.verdicts).toEqual([verdict]);
    expect((await logbook('cold-spout'))[0]).toBe(verdict.says);
  });
});

describe('the address of a calendar', () => {
  const hash = (byte: number) => new Uint8Array(32).fill(byte);
  const id = () => accountId(ash);

  it('is one for each person, and the one before is over', async () => {
    expect(await store.calendarFeeds.of(id())).toBeUndefined();
    await store.calendarFeeds.renew(id(), hash(1), startMs);
    const found = { accountId: ash, madeAtMs: startMs };
    expect(await store.calendarFeeds.find(hash(1))).toEqual(found);
    await store.calendarFeeds.renew(id(), hash(2), startMs + HOUR);
    expect(await store.calendarFeeds.find(hash(1))).toBeUndefined();
    expect((await store.calendarFeeds.of(id()))?.madeAtMs).toBe(startMs + HOUR);
  });

  it('ends with the account, or when its owner says so', async () => {
    await store.calendarFeeds.renew(id(), hash(3), startMs);
    expect(await store.calendarFeeds.end(id())).toBe(true);
    expect(await store.calendarFeeds.end(id())).toBe(false);
    expect(await store.calendarFeeds.find(hash(3))).toBeUndefined();
    await store.calendarFeeds.renew(id(), hash(4), startMs);
    await store.people.end(id(), startMs + HOUR);
    expect(await store.calendarFeeds.find(hash(4))).toBeUndefined();
  });
});
