import type { PhotoJson, PhotoListJson } from '@duskline/contract';
import { beforeEach, describe, expect, it } from 'vitest';
import { openApi, type OpenApi } from '../../testing/open-api.ts';
import type { KeptPhoto, PhotoPort } from '../photo-port.ts';

/** A PNG of one pixel, made with Python's zlib and struct after W3C PNG §5; a text chunk says where. */
const PIXEL = Buffer.from(
  'iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNk+M9QDwADhgGAWjR9awAAAABJRU5ErkJggg==',
  'base64',
);
const path = '/api/v1/sites/rushy-sluice/photos';

function keepInMemory(): PhotoPort {
  const kept = new Map<string, KeptPhoto & { readonly bytes: Uint8Array }>();
  return {
    list: async (siteId) => [...kept.values()].filter((one) => one.siteId === siteId),
    async add(photo, most) {
      if (kept.size >= most || photo.partId === '404') return undefined;
      const id = String(kept.size + 1);
      const whole = { ...photo, id, byteCount: photo.bytes.length };
      kept.set(id, whole);
      return whole;
    },
    bytes: async (siteId, id) => {
      const found = kept.get(id);
      return found?.siteId === siteId ? found : undefined;
    },
    remove: async (_siteId, id) => kept.delete(id),
  };
}

describe('pictures of a site', () => {
  let api: OpenApi;
  beforeEach(async () => {
    api = await openApi({ photos: keepInMemory() });
  });
  const send = (payload: Buffer, type: string, query = '') =>
    api.ask({
      method: 'POST',
      url: path + query,
      as: 'volunteer',
      payload,
      headers: { 'content-type': type },
    });

  it('are added by a volunteer, listed, and sent byte for byte with headers that let them do nothing', async () => {
    const added = await send(PIXEL, 'image/png', '?caption=The%20mast');
    expect(added.statusCode).toBe(201);
    expect(added.json<PhotoJson>()).toMatchObject({
      caption: 'The mast',
      partId: null,
      byteCount: PIXEL.length,
    });
    const { photos } = (await api.ask({ url: path, as: 'volunteer' })).json<PhotoListJson>();
    expect(photos.map(({ id }) => id)).toEqual(['1']);
    const picture = await api.ask({ url: `${path}/1`, as: 'builder' });
    expect(picture.rawPayload.equals(PIXEL)).toBe(true);
    expect(picture.headers).toMatchObject({
      'content-type': 'image/png',
      'x-content-type-options': 'nosniff',
      'content-security-policy': expect.stringContaining('sandbox') as string,
      'cross-origin-resource-policy': 'same-origin',
      'content-disposition': 'inline',
    });
  });

  it.each([
    ['a page that calls itself a picture', Buffer.from('<script>1</script>'), 'image/png'],
    ['a drawing that can hold scripts', Buffer.from('<svg/>'), 'image/svg+xml'],
    ['a picture that does not say so', PIXEL, 'application/octet-stream'],
  ])('are refused when they are %s', async (_what, bytes, type) => {
    expect((await send(bytes, type)).statusCode).toBe(415);
  });

  it('are refused above 2 MiB', async () => {
    expect((await send(Buffer.alloc(2 * 1024 * 1024 + 1, 1), 'image/png')).statusCode).toBe(413);
  });

  it('are no more than forty, and of parts that are there', async () => {
    expect((await send(PIXEL, 'image/png', '?part=404')).json()).toMatchObject({
      code: 'picture-not-kept',
    });
    for (let i = 0; i < 40; i++) await send(PIXEL, 'image/png');
    expect((await send(PIXEL, 'image/png')).statusCode).toBe(409);
  });

  it('are taken away by a builder only, and are then unknown', async () => {
    await send(PIXEL, 'image/png');
    const remove = (as: 'volunteer' | 'builder') =>
      api.ask({ method: 'DELETE', url: `${path}/1`, as });
    expect((await remove('volunteer')).statusCode).toBe(403);
    expect((await remove('builder')).statusCode).toBe(204);
    expect((await remove('builder')).json()).toMatchObject({ code: 'picture-unknown' });
    expect((await api.ask({ url: `${path}/1`, as: 'builder' })).statusCode).toBe(404);
  });

  it('are not shown to those who do not go there', async () => {
    expect((await api.ask({ url: path, as: 'viewer' })).statusCode).toBe(403);
    expect((await api.ask({ url: path, as: 'analyst' })).statusCode).toBe(403);
  });
});
