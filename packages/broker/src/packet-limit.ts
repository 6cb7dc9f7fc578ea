import type { Socket } from 'node:net';

/** Largest packet that is taken, in bytes. */
export const MAX_PACKET_BYTES = 262_144;

const HEAD_BYTES = 4096;
const PUBLISH = 3;
const MAX_LENGTH_BYTES = 4;

/** A packet longer than is allowed, as far as it had arrived when that was seen. */
export interface OversizePacket {
  /** Length of the whole packet as its header declares it. */
  readonly bytes: number;
  /** The topic, when it is a PUBLISH and its topic had arrived. */
  readonly topic?: string;
  /** The first bytes of what follows the topic (or the header), at most 4 KB. */
  readonly head: Uint8Array;
}

/**
 * Keeps packets above a length away from whoever reads the socket. The MQTT parser gathers a packet whole, up to 256 MB,
 * before it shows it to anybody; here only the fixed headers are read as they pass (MQTT 3.1.1 §2.2).
 *
 * Packets that came before the oversize one are still handed over; then the socket is destroyed.
 */
export function limitPackets(
  socket: Socket,
  options: {
    readonly maxBytes: number;
    readonly onOversize: (packet: OversizePacket) => void;
  },
): void {
  const watch = createFrameWatch(options.maxBytes);
  const read = socket.read.bind(socket) as (size?: number) => Buffer | null;
  let pending: OversizePacket | undefined;

  const refuse = (packet: OversizePacket): null => {
    options.onOversize(packet);
    socket.destroy();
    return null;
  };

  socket.read = (size?: number): Buffer | null => {
    if (pending !== undefined) return socket.destroyed ? null : refuse(pending);
    const chunk = read(size);
    if (chunk === null) return null;
    const oversize = watch(chunk);
    if (oversize === undefined) return chunk;
    pending = oversize.packet;
    return oversize.startsAt > 0 ? chunk.subarray(0, oversize.startsAt) : refuse(pending);
  };
}

interface FoundOversize {
  readonly packet: OversizePacket;
  /** Where in the chunk the packet begins; 0 when it began in an earlier one. */
  readonly startsAt: number;
}

/** Follows packet after packet through the chunks of one connection. */
export function createFrameWatch(
  maxBytes: number,
): (chunk: Uint8Array) => FoundOversize | undefined {
  let bodyLeft = 0;
  let kind: number | undefined;
  let length = 0;
  let lengthBytes = 0;

  return (chunk) => {
    let startsAt = 0;
    for (let at = 0; at < chunk.length;) {
      if (bodyLeft > 0) {
        const skipped = Math.min(bodyLeft, chunk.length - at);
        bodyLeft -= skipped;
        at += skipped;
        continue;
      }
      const byte = chunk[at++] ?? 0;
      if (kind === undefined) {
        startsAt = at - 1;
        kind = byte >> 4;
        continue;
      }
      length += (byte & 0x7f) * 128 ** lengthBytes;
      lengthBytes += 1;
      const complete = (byte & 0x80) === 0 || lengthBytes === MAX_LENGTH_BYTES;
      if (!complete) continue;
      const bytes = 1 + lengthBytes + length;
      if (bytes > maxBytes) {
        return { startsAt, packet: describe(kind, bytes, chunk.subarray(at)) };
      }
      bodyLeft = length;
      kind = undefined;
      length = 0;
      lengthBytes = 0;
    }
    return undefined;
  };
}

function describe(kind: number, bytes: number, body: Uint8Array): OversizePacket {
  const topicBytes = ((body[0] ?? 0) << 8) | (body[1] ?? 0);
  if (kind !== PUBLISH || body.length < 2 + topicBytes) {
    return { bytes, head: body.slice(0, HEAD_BYTES) };
  }
  return {
    bytes,
    topic: Buffer.from(body.subarray(2, 2 + topicBytes)).toString('utf8'),
    head: body.slice(2 + topicBytes, 2 + topicBytes + HEAD_BYTES),
  };
}
