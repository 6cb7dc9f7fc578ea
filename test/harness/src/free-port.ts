import { once } from 'node:events';
import { createServer, type AddressInfo } from 'node:net';

/** Handed out and perhaps not listened on yet. */
const given = new Set<number>();

/** @returns a TCP port on 127.0.0.1 that nobody listens on at the moment, and that this process was not given before. */
export async function freePort(): Promise<number> {
  for (;;) {
    const probe = createServer().listen(0, '127.0.0.1');
    await once(probe, 'listening');
    const { port } = probe.address() as AddressInfo;
    probe.close();
    await once(probe, 'close');
    if (given.has(port)) continue;
    given.add(port);
    return port;
  }
}
