import { beforeAll, describe, expect, it } from 'vitest';
import { openApi, OWN_ORIGIN, type OpenApi } from '../../testing/open-api.ts';
import { problemCatalogue, problemCodes } from './problem-catalogue.ts';

const SECRET = 'canary-4711';

describe('what the API says when it says no', () => {
  let api: OpenApi;
  beforeAll(async () => {
    api = await openApi({ isDatabaseLost: (error) => String(error).includes('gone') });
  });

  const post = (body: string, type: string | undefined) =>
    api.ask({
      method: 'POST',
      url: '/api/v1/sites',
      as: 'keeper',
      headers: type === undefined ? {} : { 'content-type': type },
      payload: body,
    });

  it('is a problem by RFC 9457, with a code and words that help', async () => {
    const answer = await api.ask({ url: '/api/v1/sites/no-such-site', as: 'viewer' });
    expect(answer.statusCode).toBe(404);
    expect(answer.headers['content-type']).toMatch(/^application\/problem\+json/);
    // RFC 9457 §3.1: status repeats the status line; type is a URI reference; title says the same for every occurrence.
    expect(answer.json()).toEqual({
      type: '/api/v1/problems/site-unknown',
      title: 'There is no such site',
      status: 404,
      code: 'site-unknown',
      detail: 'There is no site of this name. GET /api/v1/sites lists those there are.',
    });
  });

  it('can be looked up: the type of a problem leads to what it means', async () => {
    for (const code of problemCodes) {
      const answer = await api.ask({ url: `/api/v1/problems/${code}` });
      expect(answer.json()).toMatchObject({ code, status: problemCatalogue[code].status });
    }
    expect((await api.ask({ url: '/api/v1/problems/toString' })).statusCode).toBe(404);
  });

  it.each([
    ['{"id":', 'application/json', 400, 'request-invalid'],
    ['', 'application/json', 400, 'request-invalid'],
    ['{"__proto__":{"role":"keeper"},"id":"x"}', 'application/json', 400, 'request-invalid'],
    ['{"constructor":{"prototype":{"x":1}},"id":"x"}', 'application/json', 400, 'request-invalid'],
    ['id=rushy', 'application/x-www-form-urlencoded', 415, 'content-type-refused'],
    ['{"id":"x"}', 'text/plain', 415, 'content-type-refused'],
    ['{"id":"x"}', 'multipart/form-data; boundary=x', 415, 'content-type-refused'],
    ['{"id":"x"}', 'text/plain; application/json', 415, 'content-type-refused'],
    ['[]', 'application/json', 400, 'body-invalid'],
    ['null', 'application/json', 400, 'body-invalid'],
    ['{}', 'application/json', 400, 'body-invalid'],
  ])('refuses the body %j of type %s', async (body, type, status, code) => {
    const answer = await post(body, type);
    expect([answer.statusCode, answer.json<{ code: string }>().code]).toEqual([status, code]);
  });

  // CVE-2025-32442, CVE-2026-25223, -3419, -33806: a type written oddly must not walk past the schema of the body.
  it.each([' application/json', 'application/json\tx', 'application/json x', 'Application/JSON;a'])(
    'checks the body also when its type is written %j',
    async (type) => {
      const answer = await post('{"id":"UPPER","evil":1}', type);
      expect([400, 415]).toContain(answer.statusCode);
      expect(api.fleet.views.size).toBe(2);
    },
  );

  it('refuses a body larger than any site is', async () => {
    const answer = await post(JSON.stringify({ id: 'x'.repeat(70_000) }), 'application/json');
    expect(answer.statusCode).toBe(413);
    expect(answer.json()).toMatchObject({ detail: expect.stringContaining('64 KiB') as string });
  });

  it('names every part that is missing by where it should be', async () => {
    const answer = await post('{"id":"heron-pool"}', 'application/json');
    expect(answer.json()).toMatchObject({
      detail: 'In the body, /name is missing.',
      errors: [{ pointer: '/name', detail: 'is missing' }],
    });
  });

  it('tells nothing of its inside when it fails, and leaves a number that leads to the log', async () => {
    const lines: unknown[] = [];
    const log = {
      level: 'info',
      child: () => log,
      error: (...line: unknown[]) => lines.push(line),
      ...Object.fromEntries(
        ['fatal', 'warn', 'info', 'debug', 'trace', 'silent'].map((level) => [level, () => {}]),
      ),
    };
    const broken = await openApi({ logger: log as never });
    broken.fleet.failStore(new Error(`password=${SECRET} at /home/somebody/store.ts:1`));
    const answer = await broken.ask({
      url: '/api/v1/fleet',
      headers: { authorization: `Bearer dl_r_${'A'.repeat(43)}` },
    });
    expect(answer.statusCode).toBe(500);
    expect(answer.body).not.toContain(SECRET);
    expect(answer.body).not.toContain('/home');
    expect(answer.json<{ detail: string }>().detail).toMatch(/request [0-9a-f]{12}/);
    expect(String((lines[0] as [{ err: Error }])[0].err)).toContain(SECRET);
  });

  it('says so when it is the database that is away', async () => {
    const away = await openApi({ isDatabaseLost: (error) => String(error).includes('gone') });
    away.fleet.failStore(new Error('the connection is gone'));
    const answer = await away.ask({
      method: 'POST',
      url: '/api/v1/session',
      headers: { origin: OWN_ORIGIN },
      payload: { email: 'a@b.example', password: 'x' },
    });
    expect(answer.statusCode).toBe(503);
    expect(answer.headers['retry-after']).toBe('5');
    expect(answer.json()).toMatchObject({ code: 'store-away' });
  });

  it('covers addresses that do not exist, and methods that an address does not take', async () => {
    for (const [method, url] of [
      ['GET', '/api/v1/nothing'],
      ['GET', '/api'],
      ['PUT', '/api/v1/sites'],
      ['POST', '/api/v1/fleet'],
      ['GET', `/api/v1/sites/${'x'.repeat(500)}`],
      ['GET', '/api/v1/sites/%'],
    ] as const) {
      const answer = await api.app.inject({ method, url, headers: { origin: OWN_ORIGIN } });
      expect([url, answer.statusCode >= 400 && answer.statusCode < 500]).toEqual([url, true]);
      expect([url, answer.headers['content-type']]).toEqual([
        url,
        expect.stringMatching(/^application\/problem\+json/),
      ]);
    }
  });
});
