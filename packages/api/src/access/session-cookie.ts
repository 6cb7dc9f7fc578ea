import { fastifyCookie } from '@fastify/cookie';
import { DAY_MS, SECOND_MS } from '@duskline/domain';

/** Absolute: after it one signs in again. */
export const SESSION_MS = 30 * DAY_MS;

/**
 * Name and attributes of the session cookie in the two profiles. By https: `__Host-`, so that no neighbour under the
 * same domain can plant one, and Secure. By plain http in a local network browsers would refuse both; there the cookie
 * is as safe as that network.
 */
export interface SessionCookie {
  readonly name: string;
  readonly write: (token: string) => string;
  readonly clear: () => string;
  /** @param header the whole Cookie header */
  readonly read: (header: string | undefined) => string | undefined;
}

export function sessionCookie(profile: { readonly secure: boolean }): SessionCookie {
  const name = profile.secure ? '__Host-duskline' : 'duskline';
  const serialize = (value: string, maxAgeS: number): string =>
    fastifyCookie.serialize(name, value, {
      path: '/',
      httpOnly: true,
      sameSite: 'lax',
      secure: profile.secure,
      maxAge: maxAgeS,
    });
  return {
    name,
    write: (token) => serialize(token, SESSION_MS / SECOND_MS),
    clear: () => serialize('', 0),
    read: (header) => (header === undefined ? undefined : fastifyCookie.parse(header)[name]),
  };
}
