import type { Account, Permission } from '@duskline/domain';

/** Who is on a socket and what they may do. */
export interface LivePrincipal {
  readonly account: Account;
  readonly permissions: readonly Permission[];
}

/** Who holds this session cookie or this API token; undefined when nobody does (any more). */
export type Authenticate = (
  cookieHeader: string | undefined,
  bearer?: string,
) => Promise<LivePrincipal | undefined>;
