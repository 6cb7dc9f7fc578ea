import { openTestStore } from '@duskline/test-harness';
import { beforeAll, describe, expect, it } from 'vitest';
import type { NewPhoto } from './photo-store.ts';
import type { Store } from './store.ts';
import { createExampleNode } from './testing/example-fleet.ts';

const T0 = Date.UTC(2026, 10, 26, 12);
let store: Store;
beforeAll(() => openTestStore((opened) => ({ store } = opened)));

const photo = (siteId: NewPhoto['siteId'], byte: number, addedAtMs = T0): NewPhoto => ({
  siteId,
  type: 'image/png',
  bytes: new Uint8Array([0x89, 0x50, 0, 255, byte]),
  caption: `Picture ${byte}`,
  addedAtMs,
  addedBy: 'Wren Halloway',
});

describe('pictures of a site', () => {
  it('come back byte for byte, the latest first, and only at their own site', async () => {
    const { siteId } = await createExampleNode(store, 'rushy-sluice');
    const { siteId: other } = await createExampleNode(store, 'tarn-gill');
    const first = await store.photos.add(photo(siteId, 1), 40);
    const second = await store.photos.add(photo(siteId, 2, T0 + 1000), 40);
    expect((await store.photos.list(siteId)).map(({ id }) => id)).toEqual([second?.id, first?.id]);
    expect(first).toMatchObject({ caption: 'Picture 1', byteCount: 5, addedAtMs: T0 });
    const kept = await store.photos.bytes(siteId, first?.id ?? '');
    expect([...(kept?.bytes ?? [])]).toEqual([0x89, 0x50, 0, 255, 1]);
    expect(await store.photos.bytes(other, first?.id ?? '')).toBeUndefined();
    expect(await store.photos.remove(other, first?.id ?? '')).toBe(false);
    expect(await store.photos.remove(siteId, first?.id ?? '')).toBe(true);
    expect(await store.photos.list(siteId)).toHaveLength(1);
  });

  it('are no more than so many, and show parts of this site only', async () => {
    const { siteId } = await createExampleNode(store, 'withy-weir');
    const { siteId: other } = await createExampleNode(store, 'peat-hag');
    const part = await store.parts.add({
      siteId,
      kind: 'panel',
      serial: 'P-7',
      maker: 'Invented Works',
      fittedAtMs: T0,
      rated: {},
      notes: '',
    });
    expect(await store.photos.add({ ...photo(other, 1), partId: part.id }, 40)).toBeUndefined();
    expect(await store.photos.add({ ...photo(siteId, 1), partId: part.id }, 1)).toMatchObject({
      partId: part.id,
    });
    expect(await store.photos.add(photo(siteId, 2), 1)).toBeUndefined();
  });

  it('larger than 2 MiB are refused by the table itself', async () => {
    const { siteId } = await createExampleNode(store, 'cold-spout');
    const large = { ...photo(siteId, 1), bytes: new Uint8Array(2 * 1024 * 1024 + 1) };
    await expect(store.photos.add(large, 40)).rejects.toThrow(/photo_bytes_check/);
  });
});
