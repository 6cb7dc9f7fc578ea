import { deflateSync } from 'node:zlib';

/** Shorter ones gain nothing. */
const WORTH_BYTES = 300;

/** The payload as it travels: deflated (zlib, told by its first byte 0x78) where that makes it shorter. */
export function deflatePayload(payload: Uint8Array): Uint8Array {
  if (payload.length < WORTH_BYTES) return payload;
  const deflated = deflateSync(payload, { level: 9 });
  return deflated.length < payload.length ? deflated : payload;
}
