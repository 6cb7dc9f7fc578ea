import { once } from 'node:events';
import { createServer, type AddressInfo } from 'node:net';

/**
 * Below the range from which systems give ports to outgoing connections (32768 and 49152 on): while a server of a test is
 * down, no client of another's may come to sit on its port.
 */
const FROM = 20_000;
const UNTIL = 32_000;

/** Handed out and perhaps not listened on yet. */
const given = new Set<number>();

/** @returns a TCP port on 127.0.0.1 that nobody listens on at the moment, and that this process was not given before. */
export async function freePort(): Promise<number> {
  for (;;) {
    const wanted = FROM + Math.floor(Math.random() * (UNTIL - FROM));
    if (given.has(wanted)) continue;
    const probe = createServer().listen(wanted, '127.0.0.1');
    try {
      await once(probe, 'listening');
    } catch {
      continue;
    }
    const { port } = probe.address() as AddressInfo;
    probe.close();
    await once(probe, 'close');
    given.add(port);
    return port;
  }
}
