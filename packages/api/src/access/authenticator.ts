import type { AccountPort } from '../api-deps.ts';
import { readApiToken } from './api-token.ts';
import { principal, type Principal } from './principal.ts';
import { hashSecretText } from './secret-text.ts';
import type { SessionCookie } from './session-cookie.ts';

export interface Authenticator {
  /**
   * Who holds this session cookie or this API token. A token that came along is what counts, even when it is not good.
   *
   * @param cookieHeader  the whole Cookie header
   * @param bearer        what follows `Bearer `
   */
  (cookieHeader: string | undefined, bearer?: string): Promise<Principal | undefined>;
}

/** The same for HTTP and for the socket: sessions and tokens are looked up each time, so that ending one ends it at once. */
export function createAuthenticator(
  accounts: Pick<AccountPort, 'findSession' | 'findToken'>,
  cookie: SessionCookie,
): Authenticator {
  return async (cookieHeader, bearer) => {
    if (bearer !== undefined) {
      const scope = readApiToken(bearer);
      if (scope === undefined) return undefined;
      const owner = await accounts.findToken(hashSecretText(bearer));
      return owner === undefined ? undefined : principal(owner, scope);
    }
    const session = cookie.read(cookieHeader);
    if (session === undefined || session === '') return undefined;
    const account = await accounts.findSession(hashSecretText(session));
    return account === undefined ? undefined : principal(account);
  };
}

/** The credential in an Authorization header of the Bearer scheme (RFC 6750 §2.1). */
export function bearerOf(authorization: string | undefined): string | undefined {
  return authorization === undefined ? undefined : /^Bearer +(\S+) *$/i.exec(authorization)?.[1];
}
