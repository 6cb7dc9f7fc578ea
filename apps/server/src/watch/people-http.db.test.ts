import { hashPassword } from '@duskline/api';
import { DAY_MS, type Account, type NodeName, type Role } from '@duskline/domain';
import { openStore, type Store } from '@duskline/store';
import { createTestDatabase, freePort, type TestDatabase } from '@duskline/test-harness';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pino } from 'pino';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { readConfig } from '../config.ts';
import { startServer, type RunningServer } from '../start-server.ts';
import { createTestNode } from '../testing-node.ts';

// People, rota and rules as a page asks for them: by HTTP, of the whole server, on a real database.

const PASSWORD = 'only in tests, and long enough';
let folder: string;
let database: TestDatabase;
let store: Store;
let server: RunningServer;
const people = new Map<string, { readonly account: Account; readonly cookie: string }>();

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'duskline-people-http-'));
  database = await createTestDatabase();
  store = await openStore({ url: database.url });
  const config = readConfig({
    DUSKLINE_DATABASE_URL: database.url,
    DUSKLINE_DATA_DIR: folder,
    DUSKLINE_HTTP_PORT: String(await freePort()),
    DUSKLINE_MQTT_PORT: String(await freePort()),
  });
  server = await startServer(config, pino({ level: 'silent' }));
  for (const site of ['tarn-gill', 'rushy-sluice'])
    await createTestNode(store, site, Date.now() - DAY_MS, { usualGapS: 30 });
  for (const [name, role] of [
    ['Kit', 'keeper'],
    ['Isla', 'coordinator'],
    ['Wren', 'volunteer'],
    ['Bram', 'volunteer'],
    ['Vera', 'viewer'],
  ] as const)
    await comeIn(name, role);
});
afterAll(async () => {
  await server?.stop();
  await store?.close();
  await database?.drop();
  rmSync(folder, { recursive: true, force: true });
});

async function comeIn(name: string, role: Role): Promise<void> {
  const email = `${name.toLowerCase()}@greywater.example`;
  const passwordHash = await hashPassword(PASSWORD);
  const account = await store.accounts.create({ email, name, role, passwordHash });
  await store.people.change(account.id, { phone: `+44 161 496 ${name}` });
  const answer = await fetch(`${server.url}/api/v1/session`, {
    method: 'POST',
    headers: { 'content-type': 'application/json', origin: server.url },
    body: JSON.stringify({ email, password: PASSWORD }),
  });
  const cookie = answer.headers.get('set-cookie')?.split(';')[0] ?? '';
  people.set(name, { account, cookie });
}

const who = (name: string): Account => {
  const one = people.get(name);
  if (one === undefined) throw new Error(`There is no ${name}.`);
  return one.account;
};

async function ask<T = unknown>(name: string, method: string, path: string, body?: unknown) {
  const answer = await fetch(`${server.url}/api/v1${path}`, {
    method,
    headers: {
      cookie: people.get(name)?.cookie ?? '',
      origin: server.url,
      ...(body === undefined ? {} : { 'content-type': 'application/json' }),
    },
    ...(body === undefined ? {} : { body: JSON.stringify(body) }),
  });
  const text = await answer.text();
  return { status: answer.status, json: (text === '' ? undefined : JSON.parse(text)) as T };
}

/** What was written down last, newest first. */
async function written(count: number): Promise<readonly (readonly [string, string, string])[]> {
  const { json } = await ask<{ entries: { kind: string; by: string; subject: string }[] }>(
    'Kit',
    'GET',
    '/audit',
  );
  return json.entries.slice(0, count).map(({ kind, by, subject }) => [kind, by, subject] as const);
}

async function phonesSeenBy(name: string): Promise<readonly string[]> {
  const { json } = await ask<{ people: { name: string; phone: string | null }[] }>(
    name,
    'GET',
    '/people',
  );
  return json.people.filter(({ phone }) => phone !== null).map((one) => one.name);
}

describe('the rota', () => {
  const start = new Date(Date.now() - DAY_MS).toISOString().slice(0, 11) + '08:00';
  let shiftId: string;

  it('is filled by who arranges people, and shows a volunteer whom to call', async () => {
    // Before anybody is on call: oneself, and the coordinators.
    expect(await phonesSeenBy('Wren')).toEqual(['Isla', 'Wren']);
    const shift = {
      personId: who('Bram').id,
      start,
      durationMinutes: 3 * 1440,
      timeZone: 'UTC',
    };
    expect((await ask('Wren', 'POST', '/shifts', shift)).status).toBe(403);
    const made = await ask<{ id: string }>('Isla', 'POST', '/shifts', shift);
    expect(made.status).toBe(201);
    shiftId = made.json.id;
    expect(await phonesSeenBy('Wren')).toEqual(['Bram', 'Isla', 'Wren']);
    expect(await phonesSeenBy('Vera')).toEqual(['Vera']);
    expect(await phonesSeenBy('Isla')).toEqual(['Bram', 'Isla', 'Kit', 'Vera', 'Wren']);
    expect(await written(1)).toEqual([['rota', 'Isla', 'Bram']]);
  });

  it('takes no shift that makes no sense, and none of somebody who is not there', async () => {
    const shift = { personId: who('Bram').id, start, durationMinutes: 60, timeZone: 'UTC' };
    const nowhere = await ask('Isla', 'POST', '/shifts', { ...shift, timeZone: 'Moor/Here' });
    expect(nowhere).toMatchObject({ status: 422, json: { code: 'range-invalid' } });
    const nobody = await ask('Isla', 'POST', '/shifts', {
      ...shift,
      personId: '00000000-0000-4000-8000-000000000000',
    });
    expect(nobody).toMatchObject({ status: 404, json: { code: 'person-unknown' } });
  });

  it('lets a volunteer take a shift on oneself and give none away that is not theirs', async () => {
    const swap = (name: string, to: string) =>
      ask(name, 'POST', `/shifts/${shiftId}/swaps`, { start, to: who(to).id });
    expect((await swap('Vera', 'Vera')).status).toBe(403);
    expect((await swap('Wren', 'Bram')).status).toBe(403);
    expect((await swap('Wren', 'Wren')).status).toBe(200);
    const rota = await ask<{ duties: { person: string }[] }>(
      'Vera',
      'GET',
      `/rota?from=${new Date().toISOString()}&to=${new Date(Date.now() + 3600e3).toISOString()}`,
    );
    expect(rota.json.duties.map(({ person }) => person)).toEqual(['Wren']);
    expect(await written(1)).toEqual([['rota', 'Wren', 'Wren does another’s shift']]);
  });

  it('leaves out one occurrence, and ends', async () => {
    const left = await ask('Isla', 'POST', `/shifts/${shiftId}/exceptions`, { start });
    expect(left.status).toBe(200);
    expect((await ask('Bram', 'DELETE', `/shifts/${shiftId}`)).status).toBe(403);
    expect((await ask('Isla', 'DELETE', `/shifts/${shiftId}`)).status).toBe(204);
    expect((await ask('Isla', 'DELETE', `/shifts/${shiftId}`)).status).toBe(404);
    expect(await written(2)).toEqual([
      ['rota', 'Isla', `shift ${shiftId} ended`],
      ['rota', 'Isla', `shift ${shiftId} left out`],
    ]);
  });
});

describe('groups of sites', () => {
  it('show a volunteer in one its sites only, by the name of the node too', async () => {
    const made = await ask<{ id: string }>('Isla', 'POST', '/site-groups', {
      name: 'The tarns',
      siteIds: ['tarn-gill'],
    });
    expect(made.status).toBe(201);
    const path = (node: string) => `/nodes/${node}/diagnoses`;
    expect((await ask('Bram', 'GET', path('rushy-sluice'))).status).toBe(200);
    const moved = await ask('Isla', 'PATCH', `/people/${who('Bram').id}`, {
      groups: [made.json.id],
    });
    expect(moved.status).toBe(200);
    expect((await ask('Bram', 'GET', path('tarn-gill'))).status).toBe(200);
    expect(await ask('Bram', 'GET', path('rushy-sluice'))).toMatchObject({
      status: 404,
      json: { code: 'node-unknown' },
    });
    expect((await ask('Bram', 'GET', '/sites/rushy-sluice')).status).toBe(404);
    expect((await ask('Wren', 'GET', path('rushy-sluice'))).status).toBe(200);

    const both = { name: 'All', siteIds: ['tarn-gill', 'rushy-sluice'] };
    expect((await ask('Isla', 'PUT', `/site-groups/${made.json.id}`, both)).status).toBe(200);
    expect((await ask('Bram', 'GET', path('rushy-sluice'))).status).toBe(200);
    expect((await ask('Isla', 'DELETE', `/site-groups/${made.json.id}`)).status).toBe(204);
    expect(await written(4)).toEqual([
      ['group', 'Isla', 'All'],
      ['group', 'Isla', 'All'],
      ['person', 'Isla', 'Bram'],
      ['group', 'Isla', 'The tarns'],
    ]);
  });
});

describe('people', () => {
  it('are not arranged by who has less to say, nor by themselves', async () => {
    const role = (name: string, of: string, to: Role) =>
      ask(name, 'PATCH', `/people/${who(of).id}`, { role: to });
    expect((await role('Wren', 'Vera', 'analyst')).status).toBe(403);
    expect(await role('Isla', 'Kit', 'viewer')).toMatchObject({ json: { code: 'person-refused' } });
    expect(await role('Isla', 'Isla', 'viewer')).toMatchObject({
      json: { code: 'person-refused' },
    });
    expect((await role('Isla', 'Vera', 'analyst')).status).toBe(200);
    expect(await written(1)).toEqual([['role', 'Isla', 'Vera']]);
  });

  it('change their own quiet hours, and their ways of being reached; both is written down', async () => {
    const quiet = { from: '21:30', until: '06:45' };
    const changed = await ask('Wren', 'PATCH', '/me', { quiet });
    expect(changed).toMatchObject({ status: 200, json: { quiet } });
    const hook = { kind: 'webhook', address: 'https://hooks.greywater.example/wren' };
    const made = await ask<{ channel: { id: string }; secret: string }>(
      'Wren',
      'POST',
      '/me/channels',
      hook,
    );
    expect(made.status).toBe(201);
    expect(made.json.secret).toMatch(/^whsec_/);
    const ended = await ask('Wren', 'DELETE', `/me/channels/${made.json.channel.id}`);
    expect(ended.status).toBe(204);
    // A way the server does not have is refused as such, before its address is looked at.
    const mail = await ask('Wren', 'POST', '/me/channels', { kind: 'email', address: 'abc' });
    expect(mail).toMatchObject({ status: 422, json: { errors: [{ pointer: '/kind' }] } });
    expect(mail.json).toMatchObject({
      detail: expect.stringMatching(/no way out by e-mail.*DUSKLINE_SMTP_URL/),
    });
    expect(await written(3)).toEqual([
      ['channel', 'Wren', 'webhook ended'],
      ['channel', 'Wren', 'webhook'],
      ['person', 'Wren', 'Wren'],
    ]);
  });

  it('are pushed to on a device that subscribed, by an address nobody is shown', async () => {
    const me = await ask<{ pushKey: string; waysOut: string[] }>('Wren', 'GET', '/me');
    expect(me.json.waysOut).toContain('push');
    // An uncompressed point of P-256 (RFC 8292 §3.2).
    expect(Buffer.from(me.json.pushKey, 'base64url')).toHaveLength(65);
    const push = { kind: 'push', address: 'https://push.greywater.example/send/secret-path' };
    expect((await ask('Wren', 'POST', '/me/channels', push)).status).toBe(422);
    const keys = { p256dh: me.json.pushKey, auth: 'BTBZMqHH6r4Tts7J_aSIgg' };
    const made = await ask<{ channel: { address: string } }>('Wren', 'POST', '/me/channels', {
      ...push,
      keys,
    });
    expect(made.status).toBe(201);
    expect(made.json.channel.address).toBe('push.greywater.example');
    expect(await written(1)).toEqual([['channel', 'Wren', 'push']]);
  });

  it('are signed out when their account ends', async () => {
    expect((await ask('Isla', 'DELETE', `/people/${who('Vera').id}`)).status).toBe(204);
    expect((await ask('Vera', 'GET', '/people')).status).toBe(401);
  });
});

describe('rules', () => {
  const put = (name: string, more: Record<string, unknown>) =>
    ask(name, 'PUT', '/rule-settings', {
      rule: 'charge-low',
      setting: 'raiseAbovePoints',
      value: 20,
      ...more,
    });
  interface Rules {
    readonly inForce: readonly { scope: string; subject: string; setting: string; value: number }[];
    readonly rules: readonly {
      key: string;
      settings: readonly { key: string; default: number; unit: string }[];
    }[];
  }
  const rules = async () => (await ask<Rules>('Isla', 'GET', '/rules')).json;

  it('are set for the fleet, a site and a node, each by its name, and counted from the narrowest', async () => {
    expect((await put('Wren', { scope: 'fleet' })).status).toBe(403);
    expect((await put('Isla', { scope: 'fleet' })).status).toBe(204);
    const atSite = { scope: 'site', subject: 'tarn-gill', value: 15 };
    expect((await put('Isla', atSite)).status).toBe(204);
    const atNode = { scope: 'node', subject: 'tarn-gill', value: 5 };
    expect((await put('Isla', atNode)).status).toBe(204);
    const shown = (await rules()).inForce.map(({ scope, subject, value }) => [
      scope,
      subject,
      value,
    ]);
    expect(shown).toHaveLength(3);
    expect(shown).toEqual(
      expect.arrayContaining([
        ['fleet', '', 20],
        ['site', 'tarn-gill', 15],
        ['node', 'tarn-gill', 5],
      ]),
    );
    const [tarn, rushy] = await Promise.all(
      ['tarn-gill', 'rushy-sluice'].map((name) => store.nodes.findByName(name as NodeName)),
    );
    const counted = async (node: typeof tarn) =>
      (await store.ruleSettings.of(node!))['charge-low']?.['raiseAbovePoints'];
    expect(await counted(tarn)).toBe(5);
    expect(await counted(rushy)).toBe(20);
    // Taken back, the wider one counts again.
    expect((await put('Isla', { ...atNode, value: null })).status).toBe(204);
    expect(await counted(tarn)).toBe(15);
    expect((await written(4)).map(([kind, by]) => `${kind} ${by}`)).toEqual(
      Array.from({ length: 4 }, () => 'rule Isla'),
    );
  });

  it('have delays that are settings too, with their defaults shown', async () => {
    const charge = (await rules()).rules.find(({ key }) => key === 'charge-low');
    // Row 1 of the rationalisation table: on after 30 min, off after 60.
    expect(charge?.settings).toEqual(
      expect.arrayContaining([
        expect.objectContaining({ key: 'onDelayMinutes', default: 30, unit: 'min' }),
        expect.objectContaining({ key: 'offDelayMinutes', default: 60, unit: 'min' }),
      ]),
    );
    const delay = { scope: 'site', subject: 'tarn-gill', setting: 'onDelayMinutes' };
    expect((await put('Isla', { ...delay, value: 90 })).status).toBe(204);
    expect(await put('Isla', { ...delay, value: 1e6 })).toMatchObject({
      json: { code: 'rule-setting-refused' },
    });
  });

  it.each([
    [{ scope: 'site', subject: 'nowhere' }, 'site-unknown'],
    [{ scope: 'node', subject: 'nobody-1' }, 'node-unknown'],
    [{ scope: 'fleet', rule: 'no-rule' }, 'rule-setting-refused'],
    [{ scope: 'fleet', setting: 'noSetting' }, 'rule-setting-refused'],
  ])('refuse %j', async (more, code) => {
    expect(await put('Isla', more)).toMatchObject({ json: { code } });
  });
});

describe('a visit that names what is not there', () => {
  const at = new Date(Date.now() + DAY_MS).toISOString();
  const trip = { at, why: 'The panel.' };
  const NOBODY = '00000000-0000-4000-8000-000000000000';
  type Problem = { detail: string; errors?: { pointer: string }[] };

  it.each([
    ['/visits', { siteId: 'tarn-gill', personId: 'not-a-uuid' }, '/personId'],
    ['/visits', { siteId: 'tarn-gill', personId: NOBODY }, '/personId'],
    ['/visits', { siteId: 'NOT A SITE' }, '/siteId'],
    ['/visits', { siteId: 'no-such-site' }, '/siteId'],
    ['/visits', { id: 'not-a-uuid', siteId: 'tarn-gill' }, '/id'],
    ['/rounds', { siteIds: ['tarn-gill'], personId: 'not-a-uuid' }, '/personId'],
    ['/rounds', { siteIds: ['tarn-gill', 'no-such-site'] }, '/siteIds/1'],
  ] as const)('is refused, with where and how to mend it: %s %j', async (path, about, pointer) => {
    const answer = await ask<Problem>('Isla', 'POST', path, { ...trip, ...about });
    expect(answer.status).toBeGreaterThanOrEqual(400);
    expect(answer.status).toBeLessThan(500);
    expect(answer.json.errors?.map((one) => one.pointer)).toEqual([pointer]);
    expect(answer.json.detail).toContain(pointer);
  });

  it('is not moved to nobody, nor found by what is no id', async () => {
    const made = await ask<{ id: string }>('Isla', 'POST', '/visits', {
      ...trip,
      siteId: 'tarn-gill',
    });
    expect(made.status).toBe(201);
    for (const personId of ['not-a-uuid', NOBODY]) {
      const moved = await ask<Problem>('Isla', 'POST', `/visits/${made.json.id}/move`, {
        ...trip,
        personId,
      });
      expect(moved.status).toBe(422);
      expect(moved.json.errors?.map((one) => one.pointer)).toEqual(['/personId']);
    }
    const step = { id: NOBODY, at, kind: 'call-off', why: 'Snow.' };
    const unknown = await Promise.all([
      ask('Isla', 'GET', '/visits/not-a-uuid'),
      ask('Isla', 'POST', '/visits/not-a-uuid/move', trip),
      ask('Isla', 'POST', '/visits/not-a-uuid/steps', { steps: [step] }),
      ask('Isla', 'GET', '/sites/no-such-site/field-sheet'),
      ask('Isla', 'GET', '/sites/NOT%20A%20SITE/field-sheet'),
    ]);
    expect(unknown.map(({ status }) => status)).toEqual([404, 404, 404, 404, 404]);
  });

  it('is not looked for at a site that cannot be', async () => {
    const range = `from=${at}&to=${new Date(Date.parse(at) + DAY_MS).toISOString()}`;
    const answer = await ask<Problem>('Isla', 'GET', `/visits?${range}&site=NOT%20A%20SITE`);
    expect(answer.status).toBe(404);
    expect(answer.json.errors?.map((one) => one.pointer)).toEqual(['/site']);
  });
});
