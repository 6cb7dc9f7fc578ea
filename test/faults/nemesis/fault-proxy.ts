import { once } from 'node:events';
import { connect, createServer, type AddressInfo, type Socket } from 'node:net';

/** A TCP proxy that breaks lines in the ways lines break in the field. All of it can be changed while lines are open. */
export interface FaultProxy {
  readonly port: number;
  /** Each piece waits so long in either direction; by `stallShare` of the pieces ten times as long. */
  readonly delay: (ms: number, stallShare?: number) => void;
  /** Nothing passes and nobody is told: a cell that is gone, a cable that was cut behind the next switch. */
  readonly halfOpen: (on: boolean) => void;
  /** Bytes a second in each direction, all lines together; undefined: as fast as it goes. */
  readonly limit: (bytesPerS: number | undefined) => void;
  /** Ends every line with RST. */
  readonly reset: () => void;
  /** Refuses new lines (RST at once). */
  readonly refuse: (on: boolean) => void;
  /** Resets the line on which the n-th piece from now on comes from the client, before it passes. */
  readonly resetAtPiece: (n: number) => void;
  /** Did that happen? */
  readonly hasReset: () => boolean;
  readonly lines: () => number;
  readonly close: () => Promise<void>;
}

/** @param host where it listens; it always goes on to this machine */
export async function startFaultProxy(targetPort: number, host = '127.0.0.1'): Promise<FaultProxy> {
  let [delayMs, stallShare, silent, refusing] = [0, 0, false, false];
  let bytesPerS: number | undefined;
  let resetIn: number | undefined;
  let freeAtMs = 0;
  const open = new Set<readonly [Socket, Socket]>();

  const server = createServer((client) => {
    if (refusing) return void client.resetAndDestroy();
    const target = connect(targetPort, '127.0.0.1');
    const pair = [client, target] as const;
    open.add(pair);
    const end = () => {
      open.delete(pair);
      // A half-open line does not pass on that the other side has gone.
      if (silent) return;
      client.destroy();
      target.destroy();
    };
    const abort = () => {
      open.delete(pair);
      client.resetAndDestroy();
      target.resetAndDestroy();
    };
    pass(client, target, () => {
      if (resetIn === undefined || --resetIn > 0) return true;
      resetIn = undefined;
      abort();
      return false;
    });
    pass(target, client, () => true);
    for (const socket of pair) {
      socket.on('error', () => undefined);
      socket.on('close', end);
    }
  });

  /** Pieces keep their order: each leaves no earlier than the one before it. */
  function pass(from: Socket, to: Socket, admit: () => boolean): void {
    let lastMs = 0;
    from.on('data', (bytes) => {
      if (silent || !admit()) return;
      const nowMs = Date.now();
      let atMs = nowMs + delayMs * (Math.random() < stallShare ? 10 : 1);
      if (bytesPerS !== undefined) {
        freeAtMs = Math.max(freeAtMs, nowMs) + (1000 * bytes.length) / bytesPerS;
        atMs = Math.max(atMs, freeAtMs);
      }
      lastMs = Math.max(lastMs, atMs);
      if (lastMs <= nowMs) return void to.write(bytes);
      from.pause();
      setTimeout(() => {
        if (!silent && !to.destroyed) to.write(bytes);
        from.resume();
      }, lastMs - nowMs);
    });
  }

  server.listen(0, host);
  await once(server, 'listening');
  return {
    port: (server.address() as AddressInfo).port,
    delay(ms, share = 0) {
      [delayMs, stallShare] = [ms, share];
    },
    halfOpen: (on) => void (silent = on),
    limit: (rate) => void (bytesPerS = rate),
    reset() {
      for (const [client, target] of open) {
        client.resetAndDestroy();
        target.resetAndDestroy();
      }
      open.clear();
    },
    refuse: (on) => void (refusing = on),
    resetAtPiece: (n) => void (resetIn = n),
    hasReset: () => resetIn === undefined,
    lines: () => open.size,
    async close() {
      for (const [client, target] of open) {
        client.destroy();
        target.destroy();
      }
      server.close();
    },
  };
}
