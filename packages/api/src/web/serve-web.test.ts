import { mkdirSync, mkdtempSync, rmSync, utimesSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { openApi, type OpenApi } from '../../testing/open-api.ts';
import { documentPolicy, OWN_POLICY } from './document-policy.ts';

const PAGE = `<!doctype html><html><head>
<meta http-equiv="content-security-policy" content="default-src 'none'; script-src 'self' 'sha256-AAAA='; style-src 'self'; base-uri 'none'">
</head><body><script>start()</script></body></html>`;

describe('the web app', () => {
  let folder: string;
  let api: OpenApi;
  beforeEach(async () => {
    folder = mkdtempSync(join(tmpdir(), 'duskline-web-'));
    mkdirSync(join(folder, 'web/_app/immutable'), { recursive: true });
    writeFileSync(join(folder, 'secret.txt'), 'outside');
    writeFileSync(join(folder, 'web/index.html'), PAGE);
    writeFileSync(join(folder, 'web/favicon.svg'), '<svg xmlns="http://www.w3.org/2000/svg"/>');
    writeFileSync(join(folder, 'web/.env'), 'hidden');
    writeFileSync(join(folder, 'web/_app/immutable/start.js'), 'start()');
    api = await openApi({ door: { secure: false, webRoot: join(folder, 'web') } });
  });
  afterEach(async () => {
    await api.app.close();
    rmSync(folder, { recursive: true });
  });
  const get = (url: string, headers: Record<string, string> = {}) =>
    api.app.inject({ url, headers });

  it.each(['/', '/index.html', '/sites/rushy-sluice', '/sign-in?next=%2F'])(
    'is one page at %s, asked for anew each time',
    async (url) => {
      const answer = await get(url);
      expect(answer.body).toBe(PAGE);
      expect(answer.headers['content-type']).toBe('text/html; charset=utf-8');
      expect(answer.headers['cache-control']).toBe('no-cache');
    },
  );

  it('has the policy of its build, and what only a header can say', async () => {
    expect((await get('/')).headers['content-security-policy']).toBe(
      "default-src 'none'; script-src 'self' 'sha256-AAAA='; style-src 'self'; base-uri 'none'; frame-ancestors 'none'",
    );
  });

  it('lets pictures of the operator’s map in where there is one, and nothing else from there', async () => {
    writeFileSync(
      join(folder, 'web/index.html'),
      PAGE.replace("style-src 'self'", "style-src 'self'; img-src 'self'"),
    );
    const tiles = { url: 'https://tiles.example.org/{z}/{x}/{y}.png', credit: 'Example' };
    const withMap = await openApi({
      door: { secure: false, webRoot: join(folder, 'web'), tiles },
    });
    const answer = await withMap.app.inject({ url: '/' });
    const policy = String(answer.headers['content-security-policy']);
    expect(policy).toContain("img-src 'self' https://tiles.example.org;");
    expect(policy.match(/tiles\.example\.org/g)).toHaveLength(1);
    expect(answer.body).toContain("img-src 'self' https://tiles.example.org;");
    expect((await withMap.ask({ url: '/api/v1/map', as: 'viewer' })).json()).toEqual({ tiles });
    expect((await api.ask({ url: '/api/v1/map', as: 'viewer' })).json()).toEqual({ tiles: null });
    await withMap.app.close();
  });

  it('takes a page without a policy for one that needs nothing inline', () => {
    expect(documentPolicy('<html></html>')).toBe(OWN_POLICY);
    expect(OWN_POLICY).not.toMatch(/unsafe|data:|https?:|\*/);
  });

  it('is the new page once it was built anew', async () => {
    await get('/');
    writeFileSync(join(folder, 'web/index.html'), PAGE.replace('AAAA', 'BBBB'));
    utimesSync(join(folder, 'web/index.html'), new Date(), new Date(Date.now() + 5000));
    expect((await get('/')).headers['content-security-policy']).toContain('sha256-BBBB=');
  });

  it('keeps for ever what is named by its content, and asks again for the rest', async () => {
    const script = await get('/_app/immutable/start.js');
    expect(script.body).toBe('start()');
    expect(script.headers['cache-control']).toBe('public, max-age=31536000, immutable');
    expect(script.headers['content-type']).toMatch(/^(text|application)\/javascript/);
    const icon = await get('/favicon.svg');
    expect(icon.headers['cache-control']).toBe('no-cache');
    const again = await get('/favicon.svg', { 'if-none-match': String(icon.headers['etag']) });
    expect(again.statusCode).toBe(304);
  });

  it.each(['/api', '/api/v1/nothing', '/api/v1/nothing.json', '/socket.io/x', '/_app/gone.js'])(
    'does not answer for %s',
    async (url) => {
      const answer = await get(url, { accept: 'text/html' });
      expect(answer.statusCode).toBe(404);
      expect(answer.headers['content-type']).toMatch(/^application\/problem\+json/);
      expect(answer.headers['cache-control']).toBe('no-store');
    },
  );

  it.each([
    '/../secret.txt',
    '/..%2fsecret.txt',
    '/%2e%2e/secret.txt',
    '/%2e%2e%2fsecret.txt',
    '/..%5csecret.txt',
    '/_app/..%2f..%2f..%2fsecret.txt',
    '/_app/%2e%2e/%2e%2e/%2e%2e/secret.txt',
    '//etc/passwd.x',
    '/secret.txt%00.js',
    '/.env',
    '/%252e%252e%252fsecret.txt',
  ])('gives nothing from outside its folder for %s', async (url) => {
    const answer = await get(url);
    expect(answer.body).not.toContain('outside');
    expect(answer.body).not.toContain('hidden');
    expect(answer.body).not.toContain('root:');
    expect(answer.statusCode).toBeGreaterThanOrEqual(400);
    expect(answer.statusCode).toBeLessThan(500);
  });

  it('says so while it is not built, and is there once it is', async () => {
    await api.app.close();
    api = await openApi({ door: { secure: false, webRoot: join(folder, 'later') } });
    expect((await get('/')).json()).toMatchObject({ status: 404, code: 'route-unknown' });
    mkdirSync(join(folder, 'later'));
    writeFileSync(join(folder, 'later/index.html'), PAGE);
    writeFileSync(join(folder, 'later/x.svg'), '<svg xmlns="http://www.w3.org/2000/svg"/>');
    expect((await get('/')).statusCode).toBe(200);
    expect((await get('/x.svg')).statusCode).toBe(200);
  });
});

describe('headers', () => {
  const ask = async (secure: boolean, url: string) =>
    (await openApi({ door: { secure } })).app.inject(url);

  it.each(['/healthz', '/api/v1/fleet', '/nowhere', '/api/v1/openapi.json'])(
    'guard every answer, such as that of %s',
    async (url) => {
      const { headers } = await ask(false, url);
      expect(headers).toMatchObject({
        'content-security-policy': OWN_POLICY,
        'x-content-type-options': 'nosniff',
        'referrer-policy': 'same-origin',
        'x-frame-options': 'DENY',
        'cross-origin-resource-policy': 'same-origin',
        'cache-control': expect.any(String) as string,
      });
      expect(headers['server']).toBeUndefined();
      expect(headers['x-powered-by']).toBeUndefined();
    },
  );

  it('send browsers to https only where there is https', async () => {
    const plain = await ask(false, '/healthz');
    expect(plain.headers['strict-transport-security']).toBeUndefined();
    expect(plain.headers['content-security-policy']).not.toContain('upgrade');
    const secure = await ask(true, '/healthz');
    // RFC 6797 §6.1.1; one year.
    expect(secure.headers['strict-transport-security']).toBe('max-age=31536000');
    expect(secure.headers['cross-origin-opener-policy']).toBe('same-origin');
  });
});
