/** What of an engine.io connection is looked at here; its own types keep these to themselves. */
interface EngineConnection {
  readonly writeBuffer?: readonly { readonly data?: string | Buffer | undefined }[];
  readonly transport?: {
    readonly socket?: { readonly bufferedAmount?: number; readonly terminate?: () => void };
  };
}

/** Bytes (characters, of text) that were sent to a connection and have not left this process yet. */
export function waitingBytes(connection: unknown): number {
  const { writeBuffer = [], transport } = connection as EngineConnection;
  const queued = writeBuffer.reduce((total, packet) => total + (packet.data?.length ?? 0), 0);
  return queued + (transport?.socket?.bufferedAmount ?? 0);
}

/** Ends a connection whose other end does not read: a farewell would wait behind all that it has not read. */
export function cutOff(connection: unknown): void {
  (connection as EngineConnection).transport?.socket?.terminate?.();
}
