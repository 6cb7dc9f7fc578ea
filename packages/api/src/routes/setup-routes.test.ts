import type { NewNodeJson, NewSiteJson } from '@duskline/contract';
import { beforeEach, describe, expect, it } from 'vitest';
import { nodeNameOf, NOW_MS, sha256, siteIdOf } from '../../testing/fake-ports.ts';
import { openApi, type OpenApi } from '../../testing/open-api.ts';
import type { ApiDeps } from '../api-deps.ts';
import { createApi } from '../create-api.ts';

const heronPool: NewSiteJson = {
  id: 'heron-pool',
  name: 'Heron Pool',
  latitudeDeg: 54.7,
  longitudeDeg: -2.3,
  elevationM: 380,
  timeZone: 'Europe/London',
};
const node: NewNodeJson = {
  name: 'heron-pool-1',
  panelW: 20,
  panelTiltDeg: 60,
  panelAzimuthDeg: 180,
  batteryChemistry: 'lifepo4',
  batteryWh: 154,
  seriesCells: 4,
  charger: 'mppt',
  shutDownRatio: 0.1,
  restartRatio: 0.5,
  offStateDrawW: 0.03,
  usualGapS: 300,
};
const hex = (bytes: Uint8Array) => Buffer.from(bytes).toString('hex');

describe('setting up', () => {
  let api: OpenApi;
  beforeEach(async () => {
    api = await openApi();
  });
  const post = (url: string, payload?: object) =>
    api.ask({
      method: 'POST',
      url: `/api/v1${url}`,
      as: 'builder',
      ...(payload === undefined ? {} : { payload }),
    });

  it('adds a site, says where it is, and has it from then on', async () => {
    const answer = await post('/sites', heronPool);
    expect(answer.statusCode).toBe(201);
    expect(answer.headers['location']).toBe('/api/v1/sites/heron-pool');
    expect(answer.json()).toMatchObject({ id: 'heron-pool', state: 'not-yet-proved' });
    expect((await api.ask({ url: '/api/v1/sites/heron-pool', as: 'viewer' })).statusCode).toBe(200);
  });

  it('takes a battery of the builder’s own, and says what is wrong with one', async () => {
    api = await openApi({
      checkBattery: ({ chargeC }) =>
        chargeC[0] < 0
          ? [
              {
                where: 'chargeC[0]',
                what: 'Lithium is not charged below 0 °C.',
                mend: 'Write 0 or more.',
              },
            ]
          : [],
    });
    await post('/sites', { ...heronPool, clearnessByMonth: Array.from({ length: 12 }, () => 0.4) });
    const ownBattery = {
      name: 'Bench pack 7',
      voltagePoints: [
        [0, 10],
        [1, 14],
      ],
      chargeC: [-10, 45],
      dischargeC: [-20, 60],
    };
    const refused = await post('/sites/heron-pool/node', { ...node, ownBattery });
    expect(refused.statusCode).toBe(422);
    expect(refused.json()).toMatchObject({
      errors: [
        {
          pointer: '/ownBattery/chargeC/0',
          detail: 'Lithium is not charged below 0 °C. Write 0 or more.',
        },
      ],
    });
    const taken = await post('/sites/heron-pool/node', {
      ...node,
      ownBattery: { ...ownBattery, chargeC: [0, 45] },
    });
    expect(taken.statusCode).toBe(201);
    expect(
      (await post('/sites', { ...heronPool, id: 'other', clearnessByMonth: [0.4] })).statusCode,
    ).toBe(400);
  });

  it('puts a node at a site and shows its secret once, keeping the hash', async () => {
    await post('/sites', heronPool);
    const answer = await post('/sites/heron-pool/node', node);
    expect(answer.statusCode).toBe(201);
    expect(answer.headers['cache-control']).toBe('no-store');
    const { secret } = answer.json<{ secret: string }>();
    expect(api.fleet.secrets.get(nodeNameOf('heron-pool-1'))).toBe(hex(sha256(secret)));
    expect(api.fleet.told).toEqual(['new secret: heron-pool-1']);
    expect(api.fleet.views.get(siteIdOf('heron-pool'))?.node).toMatchObject({
      commissionedAtMs: NOW_MS,
      power: { panel: { ratedW: 20, tiltDeg: 60, azimuthDeg: 180 }, usualGapS: 300 },
    });
    for (const url of ['/api/v1/sites', '/api/v1/sites/heron-pool', '/api/v1/fleet'])
      expect((await api.ask({ url, as: 'keeper' })).body).not.toContain(secret);
  });

  it('puts up a node that has stood there for long, as of when it was put up', async () => {
    await post('/sites', heronPool);
    const commissionedAt = '2026-09-26T08:00:00Z';
    const answer = await post('/sites/heron-pool/node', { ...node, commissionedAt });
    expect(answer.statusCode).toBe(201);
    expect(api.fleet.views.get(siteIdOf('heron-pool'))?.node).toMatchObject({
      commissionedAtMs: Date.UTC(2026, 8, 26, 8),
    });
  });

  it('puts up no node in the future', async () => {
    const commissionedAt = new Date(NOW_MS + 3_600_000).toISOString();
    const answer = await post('/sites/tarn-gill/node', { ...node, commissionedAt });
    expect(answer.statusCode).toBe(422);
    expect(answer.json()).toMatchObject({
      code: 'range-invalid',
      errors: [{ pointer: '/commissionedAt' }],
    });
  });

  it('gives a node a new secret and forgets the old one', async () => {
    const answer = await post('/nodes/rushy-sluice-1/secret');
    const { secret } = answer.json<{ secret: string }>();
    expect(api.fleet.secrets.get(nodeNameOf('rushy-sluice-1'))).toBe(hex(sha256(secret)));
    const second = (await post('/nodes/rushy-sluice-1/secret')).json<{ secret: string }>();
    expect(second.secret).not.toBe(secret);
    expect(api.fleet.told).toEqual(['new secret: rushy-sluice-1', 'new secret: rushy-sluice-1']);
  });

  it.each([
    ['/sites', { ...heronPool, id: 'rushy-sluice' }, 409, 'site-taken'],
    ['/sites', { ...heronPool, id: 'Heron Pool' }, 400, 'body-invalid'],
    ['/sites', { ...heronPool, id: '../etc' }, 400, 'body-invalid'],
    ['/sites', { ...heronPool, latitudeDeg: 91 }, 400, 'body-invalid'],
    ['/sites', { ...heronPool, latitudeDeg: '54' }, 400, 'body-invalid'],
    ['/sites', { ...heronPool, owner: 'me' }, 400, 'body-invalid'],
    ['/sites', { ...heronPool, timeZone: 'Mars/Olympus' }, 422, 'time-zone-unknown'],
    ['/sites', { ...heronPool, timeZone: '+01:00' }, 422, 'time-zone-unknown'],
    ['/sites/rushy-sluice/node', node, 409, 'site-has-node'],
    ['/sites/nowhere/node', node, 404, 'site-unknown'],
    ['/sites/tarn-gill/node', { ...node, name: 'rushy-sluice-1' }, 409, 'node-taken'],
    ['/sites/tarn-gill/node', { ...node, name: 'Rushy' }, 400, 'body-invalid'],
    ['/sites/tarn-gill/node', { ...node, name: '+/up' }, 400, 'body-invalid'],
    ['/sites/tarn-gill/node', { ...node, restartRatio: 0.1 }, 422, 'levels-crossed'],
    ['/sites/tarn-gill/node', { ...node, batteryChemistry: 'unobtainium' }, 400, 'body-invalid'],
    ['/sites/tarn-gill/node', { ...node, batteryWh: 0 }, 400, 'body-invalid'],
    ['/nodes/no-such-node/secret', undefined, 404, 'node-unknown'],
    ['/nodes/NO/secret', undefined, 404, 'node-unknown'],
  ])('refuses %s with %j', async (url, payload, status, code) => {
    const answer = await post(url, payload);
    expect([answer.statusCode, answer.json<{ code: string }>().code]).toEqual([status, code]);
    expect(api.fleet.views.size).toBe(2);
    expect(api.fleet.secrets.size).toBe(0);
  });

  it('refuses what somebody else was quicker with, as the store tells it', async () => {
    const conflict = Object.assign(new Error('duplicate'), { name: 'StoreConflictError' });
    const { sites, nodes } = api.fleet.deps;
    api = await openApi({
      sites: { ...sites, create: () => Promise.reject(conflict) },
      nodes: { ...nodes, create: () => Promise.reject(conflict) },
    });
    expect((await post('/sites', heronPool)).json()).toMatchObject({ code: 'site-taken' });
    expect((await post('/sites/tarn-gill/node', node)).json()).toMatchObject({
      code: 'node-taken',
    });
  });

  it('shows what could not be accepted, whole', async () => {
    const answer = await api.ask({ url: '/api/v1/quarantine', as: 'builder' });
    const { entries, ...counts } = answer.json<{ entries: object[] }>();
    expect(counts).toEqual({
      next: null,
      kept: 1,
      received: 2,
      overCap: 0,
      byCode: [{ code: 'json-malformed', kept: 1, received: 2 }],
      byNode: [{ node: 'rushy-sluice-1', kept: 1, received: 2 }],
      unknownNodes: [
        {
          name: 'tarn-gill-2',
          firstSeenAt: '2026-11-25T07:01:51.000Z',
          lastSeenAt: '2026-11-25T07:01:59.000Z',
          times: 3,
        },
      ],
    });
    expect(entries).toEqual([
      {
        id: '9',
        firstReceivedAt: '2026-11-25T07:01:51.000Z',
        receivedAt: '2026-11-25T07:01:55.000Z',
        topic: 'v1/rushy-sluice-1/up/live',
        node: 'rushy-sluice-1',
        code: 'json-malformed',
        reason: 'The JSON ends in the middle.',
        // RFC 4648 §4, of the six bytes [{"n":
        payloadBase64: 'W3sibiI6',
        payloadBytes: 6,
        count: 2,
        takenInAt: null,
      },
    ]);
    const others = await api.ask({ url: '/api/v1/quarantine?code=unit-wrong', as: 'builder' });
    expect(others.json()).toMatchObject({ entries: [] });
  });

  it('takes in again what is named, or of a reason, and nothing it cannot understand', async () => {
    const replay = (body: object) =>
      api.ask({ method: 'POST', url: '/api/v1/quarantine/replay', as: 'builder', body });
    const id = 'ab'.repeat(32);
    expect((await replay({ ids: [id] })).json()).toEqual({
      takenIn: 1,
      alreadyThere: 0,
      stillRefused: 0,
      more: false,
    });
    expect((await replay({ code: 'unit-wrong' })).statusCode).toBe(200);
    expect((await replay({ ids: ['9'] })).statusCode).toBe(400);
    expect((await replay({ every: true })).statusCode).toBe(400);
  });
});

describe('tokens', () => {
  let api: OpenApi;
  beforeEach(async () => {
    api = await openApi();
  });
  const make = (payload: object, as: 'viewer' | 'keeper' = 'viewer') =>
    api.ask({ method: 'POST', url: '/api/v1/tokens', as, payload });
  const use = (token: string, url = '/api/v1/sites') =>
    api.ask({ url, headers: { authorization: `Bearer ${token}` } });

  it('open what they were made for, until the day they were made until', async () => {
    const answer = await make({ name: 'figures', permissions: ['read'], days: 7 });
    expect(answer.statusCode).toBe(201);
    expect(answer.headers['cache-control']).toBe('no-store');
    const { token, expiresAt } = answer.json<{ token: string; expiresAt: string }>();
    expect(expiresAt).toBe('2026-12-02T07:02:00.000Z');
    expect((await use(token)).statusCode).toBe(200);
    expect((await use(token, '/api/v1/quarantine')).statusCode).toBe(403);
    api.fleet.setNow(Date.parse(expiresAt) + 1);
    const late = await use(token);
    expect(late.json()).toMatchObject({ status: 401, code: 'token-refused' });
  });

  it('cannot be made for more than their owner may do', async () => {
    const answer = await make({ name: 'x', permissions: ['read', 'change-nodes'], days: 1 });
    expect(answer.json()).toMatchObject({ status: 422, code: 'permission-beyond-role' });
  });

  it('cannot make tokens', async () => {
    const { token } = (
      await make({ name: 'x', permissions: ['read', 'administer'], days: 1 }, 'keeper')
    ).json<{ token: string }>();
    const answer = await api.ask({
      method: 'POST',
      url: '/api/v1/tokens',
      headers: { authorization: `Bearer ${token}` },
      payload: { name: 'y', permissions: ['read'], days: 366 },
    });
    expect(answer.json()).toMatchObject({ status: 403, code: 'session-needed' });
  });

  it('are listed without themselves, and end when their owner says so', async () => {
    const { token } = (await make({ name: 'figures', permissions: ['read'], days: 7 })).json<{
      token: string;
    }>();
    const list = await api.ask({ url: '/api/v1/tokens', as: 'viewer' });
    expect(list.body).not.toContain(token);
    const [mine] = list.json<{ tokens: { id: string; name: string }[] }>().tokens;
    expect(mine?.name).toBe('figures');
    const end = (as: 'viewer' | 'keeper') =>
      api.ask({ method: 'DELETE', url: `/api/v1/tokens/${mine?.id ?? ''}`, as });
    expect((await end('keeper')).json()).toMatchObject({ code: 'token-unknown' });
    expect((await use(token)).statusCode).toBe(200);
    expect((await end('viewer')).statusCode).toBe(204);
    expect((await use(token)).statusCode).toBe(401);
  });

  it('can be made without a place to list them, and then there is no list', async () => {
    const withoutList: { -readonly [K in keyof ApiDeps]: ApiDeps[K] } = { ...api.fleet.deps };
    delete withoutList.tokens;
    const app = await createApi(withoutList);
    const answer = await app.inject({
      url: '/api/v1/tokens',
      headers: { cookie: `duskline=${api.fleet.openSession('viewer')}` },
    });
    expect(answer.statusCode).toBe(404);
  });
});
