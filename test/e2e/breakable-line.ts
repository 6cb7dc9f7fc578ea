import { once } from 'node:events';
import { connect, createServer, type Socket } from 'node:net';

/** A way to a server that can be cut, as coverage can be lost; a browser's own offline switch leaves its workers online. */
export interface BreakableLine {
  readonly url: string;
  /** Ends what is open and refuses what comes. */
  readonly cut: () => Promise<void>;
}

/** @param to  where the server listens, http://127.0.0.1:… */
export async function openBreakableLine(to: string, port: number): Promise<BreakableLine> {
  const target = new URL(to);
  const open = new Set<Socket>();
  const server = createServer((near) => {
    const far = connect(Number(target.port), target.hostname);
    for (const [one, other] of [
      [near, far],
      [far, near],
    ] as const) {
      open.add(one);
      one.on('error', () => other.destroy());
      one.on('close', () => open.delete(one));
      one.pipe(other);
    }
  });
  server.listen(port, '127.0.0.1');
  await once(server, 'listening');
  return {
    url: `http://127.0.0.1:${port}`,
    async cut() {
      if (!server.listening) return;
      const closed = once(server, 'close');
      server.close();
      for (const socket of open) socket.destroy();
      await closed;
    },
  };
}
