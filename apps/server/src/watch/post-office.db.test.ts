import { HOUR_MS, MINUTE_MS, nodeId, type NodeName, type SiteId } from '@duskline/domain';
import { createEmailChannel, type Channel } from '@duskline/notify';
import { openStore, type Store } from '@duskline/store';
import { createTestDatabase, freePort, type TestDatabase } from '@duskline/test-harness';
import { pino } from 'pino';
import { SMTPServer } from 'smtp-server';
import { createHash } from 'node:crypto';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { inviteDemoPeople } from './demo-people.ts';
import { openPostOffice, type PostOfficeDeps } from './post-office.ts';

const startMs = Date.UTC(2026, 10, 25, 10);
let nowMs = startMs;
let database: TestDatabase;
let store: Store;
let port: number;
let smtp: SMTPServer;
const mails: { readonly to: string; readonly raw: string }[] = [];
let channel: Channel;

beforeAll(async () => {
  database = await createTestDatabase();
  store = await openStore({ url: database.url });
  await inviteDemoPeople(store, startMs);
  port = await freePort();
  smtp = new SMTPServer({
    authOptional: true,
    disabledCommands: ['STARTTLS'],
    onData(stream, session, done) {
      let raw = '';
      stream.on('data', (chunk: Buffer) => (raw += chunk.toString()));
      stream.on('end', () => {
        mails.push({ to: session.envelope.rcptTo[0]?.address ?? '', raw });
        done();
      });
    },
  });
  await new Promise<void>((resolve) => smtp.listen(port, '127.0.0.1', resolve));
  channel = createEmailChannel({ url: `smtp://127.0.0.1:${port}`, from: 'd@greywater.example' });
});
afterAll(async () => {
  channel.close?.();
  await new Promise<void>((resolve) => smtp.close(() => resolve()));
  await store.close();
  await database.drop();
});

const office = (holder: string, more: Partial<PostOfficeDeps> = {}) =>
  openPostOffice({
    store,
    waysOut: { channels: [channel], kinds: ['email'] },
    holder,
    now: () => nowMs,
    random: () => 0.5,
    log: pino({ level: 'silent' }),
    publicUrl: 'https://duskline.example',
    ...more,
  });

let sites = 0;
async function openAlert(priority: 'P1' | 'P2' | 'P3'): Promise<void> {
  sites += 1;
  const id = `site-${sites}`;
  await store.sites.create({
    id: id as SiteId,
    name: `Site ${sites}`,
    position: { latitudeDeg: 54.4, longitudeDeg: -2.4, elevationM: 300 },
    timeZone: 'Europe/London',
    access: '',
    hazards: '',
  });
  const node = await store.nodes.create(
    {
      name: id as NodeName,
      siteId: id as SiteId,
      power: {
        panel: { ratedW: 20, tiltDeg: 60, azimuthDeg: 180 },
        battery: { chemistry: 'lifepo4', ratedWh: 150, seriesCells: 4 },
        charger: 'mppt',
        shutDownRatio: 0.15,
        restartRatio: 0.5,
        offStateDrawW: 0.05,
        usualGapS: 30,
      },
      commissionedAtMs: Date.UTC(2026, 0, 1),
    },
    new Uint8Array([sites]),
  );
  const text = {
    sentence: `Site ${sites} is low.`,
    figures: '22 %',
    byWhen: 'today',
    todo: 'Clean the panel.',
    bring: 'a cloth',
    cautions: [],
  };
  await store.commitAdvance({
    nodeId: nodeId(node.id),
    newsVersion: (await store.nodes.facts(node.id)).newsVersion,
    verdict: { state: 'low', sinceMs: nowMs, cause: 'It is low.', evidence: [] },
    alertChanges: [{ kind: 'open', rule: 'charge-low', priority, text, why: 'It is low.' }],
    memory: [],
    nextCheckAtMs: nowMs + HOUR_MS,
    nowMs,
  });
}

const calls = () => mails.filter(({ raw }) => raw.includes('/a/'));

describe('the post office', () => {
  it('tells who is on call, gives a link that takes it once, and then falls silent', async () => {
    const one = office('one');
    await openAlert('P2');
    await one.turn();
    await one.stop();
    expect(calls()).toHaveLength(1);
    const raw = calls()[0]!.raw.replace(/=\r?\n/g, '');
    const token = /\/a\/([A-Za-z0-9_-]{22})/.exec(raw)?.[1] ?? '';
    const hash = createHash('sha256').update(token).digest();
    const owner = (await store.outbox.useLink(hash, nowMs))!;
    const who = (await store.people.find(owner.personId))!;
    expect(calls()[0]!.to).toBe(who.email);
    await store.alerts.step(owner.alertId, { kind: 'take' }, who, nowMs);
    expect(await store.outbox.useLink(hash, nowMs)).toBeUndefined();
    nowMs += 12 * HOUR_MS;
    const two = office('two');
    await two.turn();
    await two.stop();
    expect(calls()).toHaveLength(1);
  });

  it('goes on to the next when nobody takes it, and sends each once with two servers', async () => {
    nowMs = startMs + 24 * HOUR_MS;
    const before = calls().length;
    const offices = [office('one'), office('two')];
    await openAlert('P1');
    await Promise.all(offices.map((one) => one.turn()));
    nowMs += 6 * MINUTE_MS;
    await Promise.all(offices.map((one) => one.turn()));
    await Promise.all(offices.map((one) => one.stop()));
    const sent = calls().slice(before);
    expect(sent).toHaveLength(2);
    expect(new Set(sent.map(({ to }) => to)).size).toBe(2);
  });

  it('says more than three at once as one, and P3 not at all', async () => {
    nowMs = startMs + 48 * HOUR_MS;
    const before = (await store.outbox.list({ fromMs: nowMs, limit: 100 })).length;
    expect(before).toBe(0);
    const one = office('one');
    await one.stop();
    for (let i = 0; i < 7; i += 1) await openAlert('P2');
    await openAlert('P3');
    await one.turn();
    const rows = await store.outbox.list({ fromMs: nowMs, limit: 100 });
    // The P1 of the day before, which nobody took, has gone on to the coordinator: it is no part of the flood.
    expect(rows.filter(({ kind, priority }) => kind === 'call' && priority === 'P2')).toHaveLength(
      3,
    );
    const floods = rows.filter(({ kind }) => kind === 'flood');
    expect(floods).toHaveLength(1);
    expect(floods[0]?.body.alerts).toHaveLength(4);
    expect(floods[0]?.body.text).toContain('4 more alerts');
  });
});

it('doubles one message when a server dies after sending it, with the same key', async () => {
  nowMs = startMs + 72 * HOUR_MS;
  await openAlert('P1');
  const from = mails.length;
  let key = '';
  // Frozen for ever between sending and recording, as by SIGKILL: its lease runs out, and another takes over.
  const dying = office('dying', {
    leaseMs: 1500,
    onPoint(point, call) {
      if (point !== 'after-send' || call.priority !== 'P1' || key !== '') return undefined;
      key = call.key;
      return new Promise<void>(() => undefined);
    },
  });
  void dying.turn();
  await expect.poll(() => key, { timeout: 20_000 }).not.toBe('');
  void dying.stop();
  const withKey = () => mails.slice(from).filter(({ raw }) => raw.includes(`<${key}@`)).length;
  expect(withKey()).toBe(1);
  const other = office('other');
  await expect
    .poll(
      async () => {
        await other.turn();
        return withKey();
      },
      { timeout: 20_000 },
    )
    .toBe(2);
  await other.turn();
  await other.stop();
  expect(withKey()).toBe(2);
  const rows = await store.outbox.list({ states: ['sent'], fromMs: nowMs, limit: 50 });
  expect(rows.filter((row) => row.key === key)).toHaveLength(1);
}, 60_000);
