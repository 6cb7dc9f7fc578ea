import type { IncomingHttpHeaders } from 'node:http';

/** The credential in an Authorization header of the Bearer scheme (RFC 6750 §2.1). */
export function bearerOf(headers: IncomingHttpHeaders): string | undefined {
  return /^Bearer +(\S+) *$/i.exec(headers.authorization ?? '')?.[1];
}

/**
 * Why a handshake is refused, or undefined when it may go on. A browser sends the visitor's cookie whatever page opens
 * the socket, and CORS does not govern WebSocket, so the Origin is looked at here (RFC 6455 §10.2; OWASP ASVS 5.0,
 * 4.4.2). Programs send no Origin; they come with a token, which no browser sends by itself.
 *
 * @param origins origins allowed beside the one the server is addressed by
 */
export function handshakeFault(
  headers: IncomingHttpHeaders,
  origins: readonly string[],
): string | undefined {
  const { origin, host } = headers;
  if (origin === undefined)
    return bearerOf(headers) === undefined
      ? 'A program that sends no Origin needs an API token.'
      : undefined;
  const own = host !== undefined && (origin === `http://${host}` || origin === `https://${host}`);
  return own || origins.includes(origin) ? undefined : 'This page may not open a connection here.';
}
