import { MINUTE_MS } from '@duskline/domain';
import { createServer, type AddressInfo, type Server, type Socket } from 'node:net';
import { BrokerStartError } from './broker-start-error.ts';

/** Whatever keep-alive a node asks for, a connection on which nothing moves for so long is closed. */
const IDLE_MS = 45 * MINUTE_MS;

export interface NodeListener {
  readonly port: number;
  /** Lets nobody in any more. */
  readonly stopListening: () => void;
  /** Ends whatever connection is left; resolves when none is. */
  readonly close: () => Promise<void>;
}

/**
 * Opens the port that nodes connect to.
 *
 * @throws BrokerStartError when it cannot be opened
 */
export async function listenForNodes(options: {
  readonly port: number;
  readonly host: string;
  readonly maxConnections: number;
  readonly onConnection: (socket: Socket) => void;
  /** All connections are taken, and one more was turned away. */
  readonly onTurnedAway: (address: string) => void;
}): Promise<NodeListener> {
  const { port, host, maxConnections, onConnection, onTurnedAway } = options;
  const sockets = new Set<Socket>();
  const server = createServer({ noDelay: true, keepAlive: true, keepAliveInitialDelay: MINUTE_MS });
  server.maxConnections = maxConnections;
  server.on('connection', (socket) => {
    sockets.add(socket);
    socket.once('close', () => sockets.delete(socket));
    socket.setTimeout(IDLE_MS, () => socket.destroy());
    onConnection(socket);
  });
  server.on('drop', (dropped) => onTurnedAway(dropped?.remoteAddress ?? 'unknown'));
  await listen(server, port, host);

  const stopped = new Promise<void>((resolve) => server.once('close', resolve));
  return {
    port: (server.address() as AddressInfo).port,
    stopListening: () => void server.close(),
    async close() {
      for (const socket of sockets) socket.destroy();
      await stopped;
    },
  };
}

function listen(server: Server, port: number, host: string): Promise<void> {
  return new Promise((resolve, reject) => {
    const onError = (cause: Error) => reject(BrokerStartError.from(cause, `${host}:${port}`));
    server.once('error', onError);
    server.listen({ port, host }, () => {
      server.off('error', onError);
      resolve();
    });
  });
}
