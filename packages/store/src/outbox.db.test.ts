import { accountId, alertId, HOUR_MS, MINUTE_MS, type AlertId } from '@duskline/domain';
import { openTestStore } from '@duskline/test-harness';
import postgres from 'postgres';
import { beforeAll, describe, expect, it } from 'vitest';
import type { NewCall } from './outbox-store.ts';
import type { Store } from './store.ts';
import { createExampleNode } from './testing/example-fleet.ts';

const nowMs = Date.UTC(2026, 10, 25, 7);

let url: string;
let store: Store;
let person: Awaited<ReturnType<Store['people']['list']>>[number];
beforeAll(() =>
  openTestStore(async (opened) => {
    ({ store, url } = opened);
    const account = await store.accounts.create({
      email: 'wren@greywater.example',
      name: 'Wren Halloway',
      role: 'volunteer',
      passwordHash: 'x',
    });
    await store.people.addChannel(account.id, { kind: 'email', address: account.email });
    person = (await store.people.find(account.id))!;
  }),
);

let sites = 0;
async function openAlert(atMs = nowMs, priority: 'P1' | 'P2' = 'P2'): Promise<AlertId> {
  const node = await createExampleNode(store, `site-${(sites += 1)}`);
  const { newsVersion } = await store.nodes.facts(node.id);
  await store.commitAdvance({
    nodeId: node.id,
    newsVersion,
    verdict: { state: 'up', sinceMs: atMs, cause: 'It is up.', evidence: [] },
    alertChanges: [
      {
        kind: 'open',
        rule: 'charge-low',
        priority,
        text: {
          sentence: 'It is low.',
          figures: '22 %',
          byWhen: 'today',
          todo: 'Clean the panel.',
          bring: 'a cloth',
          cautions: [],
        },
        why: 'It is low.',
      },
    ],
    memory: [],
    nextCheckAtMs: atMs + HOUR_MS,
    nowMs: atMs,
  });
  return alertId(`${node.id}-1`);
}

let rows = 0;
const call = (alert: AlertId, more: Partial<NewCall> = {}): NewCall => ({
  key: `key-${(rows += 1)}`,
  kind: 'call',
  alertId: alert,
  step: 1,
  priority: 'P2',
  personId: person.id,
  channel: { id: person.channels[0]!.id, kind: 'email', breaker: 'email' },
  dueAtMs: nowMs,
  giveUpAtMs: nowMs + 24 * HOUR_MS,
  body: { subject: 'low', text: 'It is low.' },
  ...more,
});
const dueOf = async (alert: AlertId, atMs = nowMs) =>
  (await store.outbox.dueAlerts(atMs, 100)).find((one) => one.alert.id === alert);
const claim = (holder: string, leaseMs = 10_000, atMs = nowMs) =>
  store.outbox.claim({ holder, limit: 100, leaseMs, nowMs: atMs });
const expand = async (alert: AlertId, more: Partial<NewCall> = {}) => {
  const due = (await dueOf(alert))!;
  const row = call(alert, more);
  await store.outbox.expand(due, { rows: [row], told: [person.id] }, nowMs);
  return row.key;
};

describe('the outbox', () => {
  it('makes rows of a due alert once, however many servers see it', async () => {
    const alert = await openAlert();
    const due = (await dueOf(alert))!;
    expect(due).toMatchObject({ called: 0, told: [], dueAtMs: nowMs });
    const plan = { told: [person.id], nextCallAtMs: nowMs + HOUR_MS };
    const kept = await Promise.all(
      [1, 2, 3].map(() => store.outbox.expand(due, { ...plan, rows: [call(alert)] }, nowMs)),
    );
    expect(kept.filter(Boolean)).toHaveLength(1);
    expect(await store.outbox.list({ alertId: alert, limit: 10 })).toHaveLength(1);
    expect(await dueOf(alert)).toBeUndefined();
    expect(await dueOf(alert, nowMs + HOUR_MS)).toMatchObject({ called: 1, told: [person.id] });
    await store.alerts.take(alert, person, nowMs + 1);
  });

  it('hands a row to one sender, and lets the late one neither send nor settle it', async () => {
    const key = await expand(await openAlert());
    const [first] = (await claim('a', 1)).filter((one) => one.key === key);
    await new Promise((resolve) => setTimeout(resolve, 20));
    const [second] = (await claim('b')).filter((one) => one.key === key);
    expect(second!.fence).toBeGreaterThan(first!.fence);
    expect((await claim('c')).filter((one) => one.key === key)).toEqual([]);
    expect(await store.outbox.begin(first!, 10_000)).toBe(false);
    expect(await store.outbox.begin(second!, 10_000)).toBe(true);
    expect(await store.outbox.sent(first!, nowMs)).toBe(false);
    expect(await store.outbox.sent(second!, nowMs)).toBe(true);
    expect(await store.outbox.sent(second!, nowMs)).toBe(false);
  });

  it('stops at once when somebody takes the alert, claimed or not', async () => {
    const claimed = await openAlert();
    const key = await expand(claimed);
    const [mine] = (await claim('a')).filter((one) => one.key === key);
    const waiting = await openAlert();
    const later = await expand(waiting, { dueAtMs: nowMs + MINUTE_MS });
    await store.alerts.take(claimed, person, nowMs + 1);
    await store.alerts.take(waiting, person, nowMs + 1);
    expect(await store.outbox.begin(mine!, 10_000)).toBe(false);
    const found = await claim('b', 10_000, nowMs + MINUTE_MS);
    expect(found.map((one) => one.key)).not.toContain(later);
    const [row] = await store.outbox.list({ alertId: waiting, limit: 1 });
    expect(row).toMatchObject({ state: 'superseded' });
    expect(await dueOf(waiting, nowMs + 24 * HOUR_MS)).toBeUndefined();
  });

  it('waits while a way out is shut, and pulls in what waited when it works again', async () => {
    const alert = await openAlert();
    const key = await expand(alert);
    const [mine] = (await claim('a')).filter((one) => one.key === key);
    for (let i = 0; i < 5; i += 1)
      await store.outbox.breakerFailed('email', 'refused', nowMs + 30_000, nowMs);
    await store.outbox.again(mine!, { dueAtMs: nowMs + 15 * MINUTE_MS, error: 'refused' });
    const other = await expand(await openAlert());
    expect(await claim('a', 10_000, nowMs + 29_000)).toEqual([]);
    const [probe] = (await claim('a', 10_000, nowMs + 30_000)).filter((one) => one.key === other);
    expect(probe!.breakerFailures).toBe(5);
    await store.outbox.sent(probe!, nowMs + 30_000);
    const after = await claim('a', 10_000, nowMs + 30_000);
    expect(after.map((one) => one.key)).toContain(key);
    expect((await store.outbox.channels()).find((one) => one.breaker === 'email')).toMatchObject({
      failures: 0,
    });
  });

  it('tries a way out that fails with what is most urgent, though something else is due before it', async () => {
    const breaker = 'email of another mail server';
    const channel = { id: person.channels[0]!.id, kind: 'email' as const, breaker };
    const plain = await expand(await openAlert(), { channel });
    const urgent = await expand(await openAlert(nowMs, 'P1'), {
      channel,
      priority: 'P1',
      dueAtMs: nowMs + 5 * MINUTE_MS,
    });
    const held = async (atMs: number) =>
      (await claim('d', 1, atMs)).filter((one) => one.breaker === breaker).map(({ key }) => key);
    const later = () => new Promise((resolve) => setTimeout(resolve, 20));
    expect(await held(nowMs)).toEqual([plain]);
    for (let i = 0; i < 5; i += 1)
      await store.outbox.breakerFailed(breaker, 'refused', undefined, nowMs);
    await later();
    expect(await held(nowMs - 1)).toEqual([]);
    expect(await held(nowMs)).toEqual([urgent]);
    await later();
    const [probe] = (await claim('e', 10_000)).filter(({ key }) => key === urgent);
    await store.outbox.sent(probe!, nowMs);
    await later();
    expect(await held(nowMs)).toEqual([plain]);
  });

  it('keeps what nobody can be told as such, and finds urgent rows that are stuck', async () => {
    const alert = await openAlert(nowMs, 'P1');
    const key = await expand(alert, { priority: 'P1' });
    expect(await store.outbox.stuckUrgent(nowMs - 1)).toEqual([]);
    const stuck = await store.outbox.stuckUrgent(nowMs + MINUTE_MS);
    expect(stuck.map((row) => row.key)).toEqual([key]);
    const { channel, ...without } = call(alert, { priority: 'P1', key: 'no-channel' });
    expect(channel).toBeDefined();
    expect(await store.outbox.add([without], nowMs + MINUTE_MS)).toBe(1);
    expect(await store.outbox.add([without], nowMs + MINUTE_MS)).toBe(0);
    expect(await store.outbox.stuckUrgent(nowMs + MINUTE_MS)).toEqual([]);
    const states = (await store.outbox.list({ alertId: alert, limit: 5 })).map((row) => row.state);
    expect(states.sort()).toEqual(['due', 'no-channel']);
    expect(await store.outbox.oldestUnsentMs(nowMs + 5000)).toBe(5000);
  });

  it('takes an alert by a link once, and not after its end', async () => {
    const alert = await openAlert();
    const tokenHash = Buffer.alloc(32, 7);
    const link = { tokenHash, alertId: alert, personId: person.id, expiresAtMs: nowMs + HOUR_MS };
    await store.outbox.makeLink(link);
    const found = { alertId: alert, personId: person.id };
    expect(await store.outbox.findLink(tokenHash, nowMs)).toEqual(found);
    expect(await store.outbox.findLink(tokenHash, nowMs + HOUR_MS)).toBeUndefined();
    const used = await Promise.all([1, 2].map(() => store.outbox.useLink(tokenHash, nowMs)));
    expect(used.filter((one) => one !== undefined)).toEqual([found]);
    expect(await store.outbox.findLink(tokenHash, nowMs)).toBeUndefined();
  });
});

describe('people', () => {
  it('come in by an invitation, once, with its role, groups and an e-mail channel', async () => {
    const node = await createExampleNode(store, `site-${(sites += 1)}`);
    const group = await store.siteGroups.create('North', [node.siteId]);
    const tokenHash = Buffer.alloc(32, 1);
    const invitation = {
      tokenHash,
      email: 'ash@greywater.example',
      name: 'Ash Fell',
      role: 'volunteer',
      groups: [group.id],
      by: 'Keeper',
      expiresAtMs: nowMs + HOUR_MS,
    } as const;
    await store.people.invite(invitation);
    expect(await store.people.findInvitation(tokenHash, nowMs)).toMatchObject({ name: 'Ash Fell' });
    const accept = () =>
      store.people.acceptInvitation(
        tokenHash,
        { name: 'Ash Fell', passwordHash: 'x', timeZone: 'Europe/London' },
        nowMs,
      );
    const account = (await accept())!;
    expect(await accept()).toBeUndefined();
    const ash = (await store.people.find(account.id))!;
    expect(ash).toMatchObject({
      timeZone: 'Europe/London',
      groups: [group.id],
      channels: [{ kind: 'email', address: 'ash@greywater.example' }],
    });

    const session = Buffer.alloc(32, 2);
    await store.accounts.createSession(account.id, session, Date.now() + HOUR_MS);
    expect(await store.accounts.findSession(session)).toMatchObject({ onlySites: [node.siteId] });
    const sql = postgres(url, { max: 1 });
    await sql`update session set seen_at = now() - interval '13 hours'`;
    await sql.end();
    expect(await store.accounts.findSession(session)).toBeUndefined();
  });

  it('lose sessions, tokens and channels when their account is ended', async () => {
    const account = await store.accounts.create({
      email: 'gone@greywater.example',
      name: 'Gone',
      role: 'viewer',
      passwordHash: 'x',
    });
    const hash = Buffer.alloc(32, 9);
    await store.accounts.createSession(account.id, hash, Date.now() + HOUR_MS);
    await store.accounts.createToken({ accountId: account.id, name: 't', tokenHash: hash });
    const [token] = await store.tokens.list(account.id);
    expect(token).toMatchObject({ name: 't' });
    expect(await store.tokens.end(accountId(person.id), token!.id)).toBe(false);
    expect(await store.accounts.findToken(hash)).toMatchObject({ name: 'Gone' });
    expect(await store.people.end(account.id, nowMs)).toBe(true);
    expect(await store.people.end(account.id, nowMs)).toBe(false);
    expect(await store.accounts.findSession(hash)).toBeUndefined();
    expect(await store.accounts.findToken(hash)).toBeUndefined();
    expect(await store.accounts.findByEmail('gone@greywater.example')).toBeUndefined();
  });

  it('have shifts that end, leave out days and are swapped', async () => {
    const added = await store.rota.add({
      personId: person.id,
      start: '2026-11-23T09:00',
      durationMinutes: 7 * 24 * 60,
      timeZone: 'Europe/London',
      recurrence: 'FREQ=WEEKLY;INTERVAL=2',
    });
    await store.rota.except(added.id, '2026-12-07T09:00');
    await store.rota.except(added.id, '2026-12-07T09:00');
    const swap = { start: '2026-12-21T09:00', to: person.id };
    const by = { name: 'Keeper', atMs: nowMs };
    expect(await store.rota.swap(added.id, swap, by)).toMatchObject({
      exceptions: ['2026-12-07T09:00'],
      swaps: [swap],
    });
    expect(await store.rota.shifts()).toHaveLength(1);
    expect(await store.rota.end(added.id, nowMs)).toBe(true);
    expect(await store.rota.shifts()).toEqual([]);
  });

  it('leave a trace of what they changed', async () => {
    await store.audit.add({
      atMs: nowMs,
      kind: 'role',
      subject: 'x',
      by: 'K',
      before: 1,
      after: 2,
    });
    expect(await store.audit.list(1)).toEqual([
      { atMs: nowMs, kind: 'role', subject: 'x', by: 'K', before: 1, after: 2 },
    ]);
  });
});
