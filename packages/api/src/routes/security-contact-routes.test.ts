import { describe, expect, it } from 'vitest';
import { NOW_MS } from '../../testing/example-fleet.ts';
import { openApi } from '../../testing/open-api.ts';

const path = '/.well-known/security.txt';

describe('the file that says whom to tell of a weakness', () => {
  // RFC 9116: lines end in CR LF or LF (§2.2), Contact at least once and a URI (§2.5.3), Expires exactly once, RFC 3339, less
  // than a year ahead (§2.5.5), Canonical the address it is fetched from (§2.5.2), text/plain in UTF-8 (§3).
  it('keeps to RFC 9116', async () => {
    const contacts = ['mailto:security@greywater.example', 'https://greywater.example/security'];
    const { app } = await openApi({
      securityContact: { contacts, publicUrl: 'https://duskline.greywater.example/' },
    });
    const answer = await app.inject(path);
    expect(answer.statusCode).toBe(200);
    expect(answer.headers['content-type']).toBe('text/plain; charset=utf-8');
    const fields = answer.body
      .trimEnd()
      .split('\r\n')
      .map((line) => /^([A-Za-z-]+): (\S.*)$/.exec(line)?.slice(1) ?? [line]);
    const of = (name: string) => fields.filter(([one]) => one === name).map(([, value]) => value);
    expect(of('Contact')).toEqual(contacts);
    expect(of('Canonical')).toEqual([`https://duskline.greywater.example${path}`]);
    expect(of('Preferred-Languages')).toEqual(['en']);
    const [expires, ...more] = of('Expires');
    expect(more).toEqual([]);
    expect(expires).toMatch(/^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ$/);
    const aheadMs = Date.parse(expires ?? '') - NOW_MS;
    expect(aheadMs).toBeGreaterThan(0);
    expect(aheadMs).toBeLessThan(365 * 86_400_000);
  });

  it('is not there where nobody is named', async () => {
    const { app } = await openApi();
    expect((await app.inject(path)).statusCode).toBe(404);
  });
});
