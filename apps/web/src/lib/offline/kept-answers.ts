/** Where the service worker keeps the last answers of the API on this device; emptied at sign-in and sign-out. */
export const KEPT_CACHE = 'duskline-last-known';

/** On an answer from this device: when the server gave it, ms since 1970. */
export const KEPT_AT_HEADER = 'x-duskline-kept-at';

/** Answers kept at most; the oldest goes first. */
export const MOST_KEPT = 120;

/** So long the network may take where an older answer is at hand: on a moor a link can be there and carry nothing. */
export const WAIT_MS = 8000;

/** Never kept: what is secret, what is large, and what only helps beside a server. */
const neverKept =
  /^\/api\/v1\/(tokens|exports?|card-imports|quarantine|openapi|audit|channels|invitations)(\/|$|\.)|\/(secret|download|file)(\/|$)/;

/** May the answer to this path be kept for reading without coverage? */
export const isKept = (pathname: string): boolean =>
  pathname.startsWith('/api/v1/') && !neverKept.test(pathname);

/** When an answer was given, if it came from this device; undefined for one from the server. */
export function keptAtMs(headers: Headers): number | undefined {
  const text = headers.get(KEPT_AT_HEADER);
  return text === null ? undefined : Number(text);
}
