import type { SiteId } from '@duskline/domain';
import { beforeEach, describe, expect, it } from 'vitest';
import { openApi, type OpenApi } from '../../testing/open-api.ts';

const URL = '/api/v1/sites/rushy-sluice/land-owner';
// Of the numbers that are given to nobody, for plays and films.
const hob = { name: 'Hob Farm', phone: '+44 1632 960210' };

describe('whose land it is', () => {
  let api: OpenApi;
  beforeEach(async () => {
    api = await openApi();
  });
  const put = (payload: object, as: 'volunteer' | 'viewer' = 'volunteer', url = URL) =>
    api.ask({ method: 'PUT', url, as, payload });
  const kept = async () => (await api.fleet.deps.sites.find('rushy-sluice' as SiteId))?.landOwner;

  it('is written down by whoever goes there, and taken away again', async () => {
    expect((await put({ name: ' Hob Farm', phone: hob.phone })).json()).toEqual(hob);
    expect(await kept()).toEqual(hob);
    expect((await put({ name: '', phone: ' ' })).statusCode).toBe(200);
    expect(await kept()).toBeUndefined();
  });

  it('is not written down by others, nor of no site, nor with what is no number', async () => {
    expect((await put(hob, 'viewer')).statusCode).toBe(403);
    expect((await put(hob, 'volunteer', URL.replace('rushy', 'no'))).statusCode).toBe(404);
    const wrong = await put({ ...hob, phone: 'ask at the farm' });
    expect(wrong.statusCode).toBe(400);
    expect(wrong.body).toContain('/phone');
    expect(await kept()).toBeUndefined();
  });
});
