import { DAY_MS } from '@duskline/domain';
import type { ApiDeps } from '../api-deps.ts';
import type { Door } from '../door.ts';

/** Less than a year, as RFC 9116 §2.5.5 advises: a file that is copied somewhere must not stay right for ever. */
const HOLDS_MS = 180 * DAY_MS;

/**
 * Whom to tell of a weakness: `/.well-known/security.txt`.
 *
 * @source RFC 9116 §2.5 (fields), §3 (place and media type). Not there unless the operator names somebody.
 */
export function securityContactRoutes(app: Door, { securityContact, now }: ApiDeps): void {
  if (securityContact === undefined) return;
  app.get(
    '/.well-known/security.txt',
    { config: { allow: 'anyone' }, schema: { hide: true } },
    (_request, reply) => {
      const { contacts, publicUrl } = securityContact;
      // Whole days: asked twice on one day it is the same.
      const expires = new Date(Math.floor((now() + HOLDS_MS) / DAY_MS) * DAY_MS);
      const lines = [
        ...contacts.map((uri) => `Contact: ${uri}`),
        `Expires: ${expires.toISOString().replace('.000', '')}`,
        ...(publicUrl === undefined
          ? []
          : [`Canonical: ${publicUrl.replace(/\/+$/, '')}/.well-known/security.txt`]),
        'Preferred-Languages: en',
      ];
      return reply
        .headers({ 'cache-control': 'public, max-age=3600' })
        .type('text/plain; charset=utf-8')
        .send(`${lines.join('\r\n')}\r\n`);
    },
  );
}
