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
  /** @param token characters a cookie may hold as they are, such as base64url */
  readonly write: (token: string) => string;
  readonly clear: () => string;
  /** @param header the whole Cookie header */
  readonly read: (header: string | undefined) => string | undefined;
}

/** Written and read by RFC 6265, §4.1.1 and §4.2.1. */
export function sessionCookie(profile: { readonly secure: boolean }): SessionCookie {
  const name = profile.secure ? '__Host-duskline' : 'duskline';
  const line = (value: string, maxAgeS: number): string =>
    `${name}=${value}; Max-Age=${maxAgeS}; Path=/; HttpOnly; SameSite=Lax${profile.secure ? '; Secure' : ''}`;
  return {
    name,
    write: (token) => line(token, SESSION_MS / SECOND_MS),
    clear: () => line('', 0),
    read: (header) =>
      header
        ?.split(';')
        .map((pair) => pair.trim())
        .find((pair) => pair.startsWith(`${name}=`))
        ?.slice(name.length + 1),
  };
}
