import { once } from 'node:events';
import { createServer, type AddressInfo } from 'node:net';

/** @returns a TCP port on 127.0.0.1 that nobody listens on at the moment. */
export async function freePort(): Promise<number> {
  const probe = createServer().listen(0, '127.0.0.1');
  await once(probe, 'listening');
  const { port } = probe.address() as AddressInfo;
  probe.close();
  await once(probe, 'close');
  return port;
}
