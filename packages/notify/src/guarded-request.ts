import { lookup as lookupAll, type LookupAddress } from 'node:dns';
import { request as httpRequest, type IncomingHttpHeaders } from 'node:http';
import { request as httpsRequest } from 'node:https';
import { isIP, type LookupFunction } from 'node:net';
import { isPrivateAddress } from './private-address.ts';

export interface GuardedRequest {
  readonly url: string;
  readonly method?: 'POST' | 'GET' | 'PUT';
  readonly headers: Readonly<Record<string, string>>;
  readonly body: string | Uint8Array;
}

export interface Guard {
  /** Whole time of a request. Default 10 s. */
  readonly timeoutMs?: number;
  /** Hosts (`name` or `name:port`) that may be asked whatever their scheme, port and address. For the keeper to say, and for tests. */
  readonly trustedHosts?: readonly string[];
  /** How a name is resolved; every address is checked and the first is connected to. Default: the system's. */
  readonly resolve?: (host: string) => Promise<readonly LookupAddress[]>;
  /** Further certificate authorities. */
  readonly ca?: string;
}

export interface GuardedAnswer {
  readonly status: number;
  readonly headers: IncomingHttpHeaders;
}

/** We do not ask there, whatever anybody says. */
export class RequestRefusedError extends Error {
  override readonly name = 'RequestRefusedError';
}

const TIMEOUT_MS = 10_000;
const LONGEST_REPLY_BYTES = 64 * 1024;
const PORTS = new Set(['', '443', '8443']);

/**
 * A request to an address that a user gave (OWASP ASVS 5.0 1.3.6): https only, ports 443 and 8443, the name is resolved once
 * and every address of it checked, the connection goes to a checked one, redirects are not followed, the reply is read up to
 * 64 KB and thrown away.
 *
 * @throws RequestRefusedError where we do not ask; what the connection throws, a timeout included
 */
export async function guardedRequest(
  { url, method = 'POST', headers, body }: GuardedRequest,
  guard: Guard = {},
): Promise<GuardedAnswer> {
  const target = checkedUrl(url, guard);
  const trusted = isTrusted(target, guard);
  const addresses = await addressesOf(target, guard);
  if (!trusted && addresses.some(({ address }) => isPrivateAddress(address)))
    throw new RequestRefusedError(`${target.hostname} leads into a private network.`);
  const [first] = addresses;
  if (first === undefined) throw new Error(`${target.hostname} has no address.`);
  // The connection asks for the name again: it is given the address that was checked, and no other.
  const lookup: LookupFunction = (_name, options, done) => {
    if (options.all === true)
      (done as unknown as (e: null, a: LookupAddress[]) => void)(null, [first]);
    else done(null, first.address, first.family);
  };
  const send = target.protocol === 'https:' ? httpsRequest : httpRequest;
  return new Promise<GuardedAnswer>((resolve, reject) => {
    const signal = AbortSignal.timeout(guard.timeoutMs ?? TIMEOUT_MS);
    const outgoing = send(
      target,
      {
        method,
        headers: { ...headers, 'content-length': String(Buffer.byteLength(body)) },
        lookup,
        agent: false,
        signal,
        maxHeaderSize: 16 * 1024,
        ...(guard.ca === undefined ? {} : { ca: guard.ca }),
      },
      (reply) => {
        let read = 0;
        const answer = { status: reply.statusCode ?? 0, headers: reply.headers };
        reply.on('data', (chunk: Buffer) => {
          read += chunk.length;
          if (read <= LONGEST_REPLY_BYTES) return;
          resolve(answer);
          outgoing.destroy();
        });
        reply.on('end', () => resolve(answer));
        reply.on('error', reject);
      },
    );
    outgoing.on('error', reject);
    outgoing.end(body);
  });
}

/** @throws RequestRefusedError */
export function checkedUrl(text: string, guard: Guard = {}): URL {
  if (!URL.canParse(text)) throw new RequestRefusedError('This is no address of the web.');
  const url = new URL(text);
  if (isTrusted(url, guard)) return url;
  if (url.protocol !== 'https:')
    throw new RequestRefusedError('The address must begin with https.');
  if (!PORTS.has(url.port)) throw new RequestRefusedError('Only the ports 443 and 8443 are asked.');
  if (url.username !== '' || url.password !== '')
    throw new RequestRefusedError('The address must not carry a name or password.');
  const host = bare(url.hostname);
  if (isIP(host) !== 0 && isPrivateAddress(host))
    throw new RequestRefusedError('The address leads into a private network.');
  return url;
}

const isTrusted = (url: URL, { trustedHosts = [] }: Guard): boolean =>
  trustedHosts.includes(url.hostname) || trustedHosts.includes(url.host);

const bare = (host: string): string => host.replace(/^\[|\]$/g, '');

async function addressesOf(url: URL, { resolve }: Guard): Promise<readonly LookupAddress[]> {
  const host = bare(url.hostname);
  const family = isIP(host);
  if (family !== 0) return [{ address: host, family }];
  if (resolve !== undefined) return resolve(host);
  return new Promise((found, reject) => {
    lookupAll(host, { all: true }, (error, all) => (error === null ? found(all) : reject(error)));
  });
}
