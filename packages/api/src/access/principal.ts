import { permissions, roleAllows, type Account, type Permission } from '@duskline/domain';

/** Who asks, and what they may do: the account's role, and for a token not more than it was made for. */
export interface Principal {
  readonly kind: 'session' | 'token';
  readonly account: Account;
  readonly permissions: readonly Permission[];
}

/** @param scope what a token was made for; leave out for a person */
export function principal(account: Account, scope?: readonly Permission[]): Principal {
  return {
    kind: scope === undefined ? 'session' : 'token',
    account,
    permissions: permissions.filter(
      (one) => roleAllows(account.role, one) && (scope?.includes(one) ?? true),
    ),
  };
}
