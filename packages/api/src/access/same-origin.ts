import type { FastifyRequest } from 'fastify';
import { ApiProblem } from '../replies/api-problem.ts';

/** Any value will do: a page of another origin cannot set it without asking us first, and we never say yes. */
export const OWN_REQUEST_HEADER = 'x-duskline-request';

const readsOnly = new Set(['GET', 'HEAD', 'OPTIONS']);

interface OriginRules {
  readonly secure: boolean;
  readonly origins: readonly string[];
}

/**
 * Keeps other sites' pages from acting with a visitor's cookie. A change needs our own Origin; a program that sends none
 * says that it means it by a header of its own (OWASP ASVS 5.0, 3.5.1).
 *
 * @throws ApiProblem `origin-refused`
 */
export function requireOwnOrigin(request: FastifyRequest, rules: OriginRules): void {
  if (readsOnly.has(request.method)) return;
  const { origin } = request.headers;
  const own = `${rules.secure ? 'https' : 'http'}://${request.host}`;
  if (origin === undefined && request.headers[OWN_REQUEST_HEADER] !== undefined) return;
  if (origin !== undefined && (origin === own || rules.origins.includes(origin))) return;
  throw new ApiProblem(
    'origin-refused',
    origin === undefined
      ? `A change needs the Origin of our own page. A program that sends no Origin adds the header ${OWN_REQUEST_HEADER}: 1, or uses an API token.`
      : `Changes are taken from ${own} only, and this one says that it comes from ${shown(origin)}. Behind a proxy, set the public address of the server.`,
  );
}

const shown = (origin: string): string => origin.slice(0, 100).replaceAll(/[^\x20-\x7e]/g, '?');
