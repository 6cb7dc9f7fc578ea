import type { LandOwner, SiteId } from '@duskline/domain';
import type { Store } from '@duskline/store';

/** Invented, with numbers that are given to nobody (kept free for plays and films); the other sites show where a number is written. */
const OWNERS: readonly (readonly [LandOwner, readonly string[]])[] = [
  [{ name: 'Hob Farm', phone: '+44 1632 960210' }, ['rushy-sluice', 'sallow-bridge', 'thornhow']],
  [
    { name: 'Cold Spout Estate', phone: '+44 1632 960247' },
    ['cold-spout', 'long-moss', 'tarn-gill'],
  ],
];

/** Whom to call about the land of some sites of the demo; sites that are not there are left out. */
export async function keepDemoLandOwners(store: Store): Promise<void> {
  for (const [owner, siteIds] of OWNERS)
    for (const siteId of siteIds) await store.sites.setLandOwner(siteId as SiteId, owner);
}
