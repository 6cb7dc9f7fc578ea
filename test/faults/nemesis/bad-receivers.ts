import { once } from 'node:events';
import { createServer, type IncomingMessage, type Server, type ServerResponse } from 'node:http';
import type { AddressInfo } from 'node:net';
import type { Lab } from '../lab.ts';

/** How a webhook of somebody else can behave. */
export const BAD_WAYS = ['hang', 'slow', 'broken', 'busy', 'huge', 'loop', 'plain-tls'] as const;
export type Way = (typeof BAD_WAYS)[number] | 'well';

export interface Receiver {
  readonly way: Way;
  readonly url: string;
  readonly host: string;
  /** Instants at which it was asked. */
  readonly asked: readonly number[];
  /** How long each of the asked-for lines was kept open, ms; of those that are over. */
  readonly heldMs: readonly number[];
  /** Bytes that could be written of a reply that does not end. */
  readonly writtenBytes: () => number;
  /** Requests that came where a redirect led. */
  readonly followed: () => number;
}

const HUGE_BYTES = 10 * 1024 * 1024;
export const BUSY_FOR_S = 3;

/** Puts up a receiver on a port of its own: what fails there fails for nobody else. */
export async function openReceiver(lab: Lab, way: Way): Promise<Receiver> {
  const asked: number[] = [];
  const heldMs: number[] = [];
  let writtenBytes = 0;
  let followed = 0;
  const server: Server = createServer((request, reply) => {
    if (request.url === '/elsewhere') followed += 1;
    const atMs = Date.now();
    asked.push(atMs);
    reply.on('close', () => heldMs.push(Date.now() - atMs));
    request.resume();
    request.on('end', () => answer(request, reply));
  });
  function answer(_request: IncomingMessage, reply: ServerResponse): void {
    switch (way) {
      case 'well':
        return void reply.writeHead(204).end();
      case 'hang':
      case 'plain-tls':
        return;
      case 'slow': {
        reply.writeHead(200);
        const drip = setInterval(() => reply.write('.'), 500);
        reply.on('close', () => clearInterval(drip));
        return;
      }
      case 'broken':
        return void reply.writeHead(500).end('no');
      case 'busy':
        return void reply.writeHead(429, { 'retry-after': String(BUSY_FOR_S) }).end();
      case 'loop':
        return void reply.writeHead(307, { location: '/elsewhere' }).end();
      case 'huge': {
        reply.writeHead(500);
        const chunk = Buffer.alloc(16 * 1024, 'x');
        const more = (): void => {
          while (writtenBytes < HUGE_BYTES && !reply.destroyed) {
            writtenBytes += chunk.length;
            if (!reply.write(chunk)) return void reply.once('drain', more);
          }
          reply.end();
        };
        more();
      }
    }
  }
  server.listen(0, '127.0.0.1');
  await once(server, 'listening');
  lab.undo(() => {
    server.closeAllConnections();
    server.close();
  });
  const host = `127.0.0.1:${(server.address() as AddressInfo).port}`;
  // Asked by TLS, a server that speaks none answers with what is no handshake.
  const scheme = way === 'plain-tls' ? 'https' : 'http';
  return {
    way,
    host,
    url: `${scheme}://${host}/calls`,
    asked,
    heldMs,
    writtenBytes: () => writtenBytes,
    followed: () => followed,
  };
}
