import type { Account, SiteId } from '@duskline/domain';

/** Does this account see that site? A volunteer who belongs to groups of sites sees those only. */
export const seesSite = (account: Account, siteId: SiteId): boolean =>
  account.onlySites?.includes(siteId) ?? true;
