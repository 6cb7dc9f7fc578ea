import type { SiteId } from '@duskline/domain';
import { openTestStore } from '@duskline/test-harness';
import { beforeAll, expect, it } from 'vitest';
import type { Store } from './store.ts';
import { exampleSite } from './testing/example-fleet.ts';

let store: Store;
beforeAll(() => openTestStore((opened) => ({ store } = opened)));

it('a site keeps whom to call of its land, in the views as well, until nobody is', async () => {
  const site = await store.sites.create(exampleSite('ling-ridge', 'Ling Ridge'));
  // Of the numbers that are given to nobody, for plays and films.
  const landOwner = { name: 'Hob Farm', phone: '+44 1632 960210' };
  const owned = { ...site, landOwner };
  expect(await store.sites.setLandOwner(site.id, landOwner)).toEqual(owned);
  expect(await store.sites.find(site.id)).toEqual(owned);
  expect((await store.views.site(site.id))?.site).toEqual(owned);
  expect(await store.sites.setLandOwner(site.id, undefined)).toEqual(site);
  expect(await store.sites.find(site.id)).toEqual(site);
  expect(await store.sites.setLandOwner('nowhere' as SiteId, landOwner)).toBeUndefined();
});
