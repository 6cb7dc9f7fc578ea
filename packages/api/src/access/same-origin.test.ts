import { beforeAll, describe, expect, it } from 'vitest';
import { PASSWORD } from '../../testing/fake-ports.ts';
import { openApi, type OpenApi } from '../../testing/open-api.ts';

describe('changes by a session', () => {
  let api: OpenApi;
  beforeAll(async () => {
    api = await openApi({ door: { secure: false, origins: ['http://localhost:5173'] } });
  });

  const take = (headers: Record<string, string>) =>
    api.ask({
      method: 'POST',
      url: '/api/v1/alerts/41/take',
      headers: {
        host: 'duskline.example:8080',
        cookie: `duskline=${api.fleet.openSession('volunteer')}`,
        ...headers,
      },
    });

  // What browsers send: Fetch Standard, "append a request Origin header".
  it.each([
    ['our own page', { origin: 'http://duskline.example:8080' }],
    ['a page allowed by name', { origin: 'http://localhost:5173' }],
    ['a program that says it means it', { 'x-duskline-request': '1' }],
  ])('are taken from %s', async (_who, headers) => {
    expect((await take(headers)).statusCode).toBe(200);
  });

  it.each([
    ['another site', { origin: 'https://elsewhere.example' }],
    ['another port of our host', { origin: 'http://duskline.example:9999' }],
    ['a neighbour under our domain', { origin: 'http://shop.duskline.example:8080' }],
    ['https where we are http', { origin: 'https://duskline.example:8080' }],
    ['a page without an origin', { origin: 'null' }],
    ['something that says nothing', {}],
    [
      'another site that adds our header',
      { origin: 'http://e.example', 'x-duskline-request': '1' },
    ],
    ['an origin that begins like ours', { origin: 'http://duskline.example:8080.e.example' }],
  ])('are not taken from %s', async (_who, headers) => {
    const answer = await take(headers);
    expect(answer.statusCode).toBe(403);
    expect(answer.json()).toMatchObject({ code: 'origin-refused' });
  });

  it('need nothing of the kind when they come with a token', async () => {
    const made = await api.ask({
      method: 'POST',
      url: '/api/v1/tokens',
      as: 'volunteer',
      payload: { name: 'pager', permissions: ['handle-alerts'], days: 1 },
    });
    const { token } = made.json<{ token: string }>();
    const answer = await api.ask({
      method: 'POST',
      url: '/api/v1/alerts/41/take',
      headers: { authorization: `Bearer ${token}`, origin: 'https://elsewhere.example' },
    });
    expect(answer.statusCode).toBe(200);
  });

  it('include signing in: nobody is signed in as somebody else by another page', async () => {
    const answer = await api.ask({
      method: 'POST',
      url: '/api/v1/session',
      headers: { origin: 'https://elsewhere.example' },
      payload: { email: 'viewer@greywater.example', password: PASSWORD },
    });
    expect(answer.statusCode).toBe(403);
    expect(answer.headers['set-cookie']).toBeUndefined();
  });

  it('are told apart from looking, which any page may link to', async () => {
    const answer = await api.ask({
      url: '/api/v1/sites',
      as: 'viewer',
      headers: { origin: 'https://elsewhere.example' },
    });
    expect(answer.statusCode).toBe(200);
    // And no other page may read it: there is no Access-Control-Allow-Origin (Fetch Standard, CORS check).
    expect(answer.headers['access-control-allow-origin']).toBeUndefined();
  });
});
