import { failed, ok, type Result } from '@duskline/domain';
import { inflateSync } from 'node:zlib';

/** Inflates zlib bytes, never to more than `maxBytes`: what the pure decoder is handed. */
export function inflate(
  bytes: Uint8Array,
  maxBytes: number,
): Result<Uint8Array, 'too-large' | 'corrupt'> {
  try {
    return ok(inflateSync(bytes, { maxOutputLength: maxBytes }));
  } catch (cause) {
    const code = (cause as { code?: string }).code;
    return failed(code === 'ERR_BUFFER_TOO_LARGE' ? 'too-large' : 'corrupt');
  }
}
