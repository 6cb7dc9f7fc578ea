import { beforeEach, describe, expect, it } from 'vitest';
import { NOW_MS, PASSWORD, sha256 } from '../../testing/fake-ports.ts';
import { openApi, OWN_ORIGIN, type OpenApi } from '../../testing/open-api.ts';

const EMAIL = 'volunteer@greywater.example';
const DAY_MS = 86_400_000;

describe('signing in', () => {
  let api: OpenApi;
  beforeEach(async () => {
    api = await openApi();
  });

  const signIn = (
    payload: unknown = { email: EMAIL, password: PASSWORD },
    headers: Record<string, string> = {},
  ) =>
    api.ask({
      method: 'POST',
      url: '/api/v1/session',
      headers: { origin: OWN_ORIGIN, ...headers },
      payload: payload as object,
    });
  const cookieOf = (answer: { headers: Record<string, unknown> }): string =>
    String(answer.headers['set-cookie']).split(';')[0] ?? '';
  const whoAmI = (cookie: string) => api.ask({ url: '/api/v1/session', headers: { cookie } });

  it('gives a session that says who one is and what one may do', async () => {
    const answer = await signIn();
    expect(answer.statusCode).toBe(200);
    expect(answer.json()).toEqual({
      name: 'volunteer',
      email: EMAIL,
      role: 'volunteer',
      permissions: ['read', 'handle-alerts'],
    });
    expect((await whoAmI(cookieOf(answer))).json()).toEqual(answer.json());
  });

  it('takes the address in any letter case, with blanks around it', async () => {
    const answer = await signIn({ email: ` Volunteer@Greywater.Example `, password: PASSWORD });
    expect(answer.statusCode).toBe(200);
  });

  it('keeps 256 bits in the cookie and their SHA-256 in the store', async () => {
    const token = cookieOf(await signIn()).split('=')[1] ?? '';
    expect(Buffer.from(token, 'base64url')).toHaveLength(32);
    expect(await api.fleet.deps.accounts.findSession(sha256(token))).toMatchObject({
      email: EMAIL,
    });
  });

  it('marks the cookie for this host and for no script; by https for https only', async () => {
    // RFC 6265bis §4.1.3.2: __Host- asks for Secure, Path=/ and no Domain.
    expect((await signIn()).headers['set-cookie']).toMatch(
      /^duskline=[\w-]{43}; Max-Age=2592000; Path=\/; HttpOnly; SameSite=Lax$/,
    );
    api = await openApi({ door: { secure: true } });
    const answer = await signIn(undefined, { origin: 'https://localhost:80' });
    expect(answer.headers['set-cookie']).toMatch(
      /^__Host-duskline=[\w-]{43}; Max-Age=2592000; Path=\/; HttpOnly; SameSite=Lax; Secure$/,
    );
  });

  it('answers a wrong password and an unknown address alike', async () => {
    const wrong = await signIn({ email: EMAIL, password: 'not it' });
    const unknown = await signIn({ email: 'nobody@greywater.example', password: 'not it' });
    expect(wrong.statusCode).toBe(401);
    expect(wrong.body).toBe(unknown.body);
    expect(wrong.headers['set-cookie']).toBeUndefined();
  });

  it('gives a new session each time, and ends the one that came along', async () => {
    const first = cookieOf(await signIn());
    const second = cookieOf(await signIn(undefined, { cookie: first }));
    expect(second).not.toBe(first);
    expect((await whoAmI(first)).statusCode).toBe(401);
    expect((await whoAmI(second)).statusCode).toBe(200);
  });

  it('does not adopt a session id that somebody planted', async () => {
    const answer = await signIn(undefined, { cookie: 'duskline=planted' });
    expect(cookieOf(answer)).not.toContain('planted');
    expect((await whoAmI('duskline=planted')).statusCode).toBe(401);
  });

  it('ends after thirty days whatever one does', async () => {
    const cookie = cookieOf(await signIn());
    api.fleet.setNow(NOW_MS + 30 * DAY_MS - 1000);
    expect((await whoAmI(cookie)).statusCode).toBe(200);
    api.fleet.setNow(NOW_MS + 30 * DAY_MS + 1000);
    expect((await whoAmI(cookie)).statusCode).toBe(401);
  });

  it('ends on signing out: here, in the cookie, and for what is live', async () => {
    const cookie = cookieOf(await signIn());
    const out = await api.ask({
      method: 'DELETE',
      url: '/api/v1/session',
      headers: { cookie, origin: OWN_ORIGIN },
    });
    expect(out.statusCode).toBe(204);
    expect(out.headers['set-cookie']).toMatch(/^duskline=; Max-Age=0;/);
    expect((await whoAmI(cookie)).statusCode).toBe(401);
    expect(api.fleet.told).toEqual(['session ended: volunteer']);
  });

  it('lets somebody without a session sign out in peace', async () => {
    const out = await api.ask({
      method: 'DELETE',
      url: '/api/v1/session',
      headers: { origin: OWN_ORIGIN },
    });
    expect(out.statusCode).toBe(204);
  });

  it('asks for patience after five wrong attempts, and takes the right one a minute later', async () => {
    for (let i = 0; i < 5; i++)
      expect((await signIn({ email: EMAIL, password: 'not it' })).statusCode).toBe(401);
    const answer = await signIn();
    expect(answer.statusCode).toBe(429);
    expect(answer.headers['retry-after']).toBe('60');
    api.fleet.setNow(NOW_MS + 60_000);
    expect((await signIn()).statusCode).toBe(200);
  });

  it('does not believe who says that they are somewhere else', async () => {
    for (let i = 0; i < 5; i++)
      await signIn(
        { email: EMAIL, password: 'not it' },
        { 'x-forwarded-for': `203.0.113.${i}`, forwarded: `for=203.0.113.${i}` },
      );
    expect((await signIn(undefined, { 'x-forwarded-for': '203.0.113.99' })).statusCode).toBe(429);
  });

  it('believes the proxy that it was told of', async () => {
    api = await openApi({ door: { secure: false, trustProxy: '127.0.0.1/32' } });
    for (let i = 0; i < 5; i++)
      await signIn({ email: EMAIL, password: 'not it' }, { 'x-forwarded-for': '203.0.113.1' });
    expect((await signIn(undefined, { 'x-forwarded-for': '203.0.113.2' })).statusCode).toBe(200);
  });

  it.each([
    [{ email: EMAIL }, '/password'],
    [{ email: EMAIL, password: 5 }, '/password'],
    [{ email: EMAIL, password: PASSWORD, role: 'keeper' }, '/role'],
    [{ email: [EMAIL], password: PASSWORD }, '/email'],
  ])('says which part of %j cannot be used', async (payload, pointer) => {
    const answer = await signIn(payload);
    expect(answer.statusCode).toBe(400);
    expect(answer.json<{ errors: { pointer: string }[] }>().errors[0]?.pointer).toBe(pointer);
  });
});
