import type { PhotoType } from '../photo-port.ts';

const PNG_HEAD = [0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a];
/** Where and when a picture was taken, and words beside it. */
const PNG_CHATTER = new Set(['eXIf', 'tEXt', 'iTXt', 'zTXt', 'tIME']);

/**
 * A picture without what cameras write beside it: where it was taken, by whose camera, a small copy of it. What a picture is
 * is told by its bytes, never by its name.
 *
 * @returns undefined when it is no whole JPEG or PNG. @source ITU-T T.81 §B.1.1 (markers), W3C PNG §5.3 (chunks)
 */
export function barePicture(
  bytes: Uint8Array,
): { readonly type: PhotoType; readonly bytes: Uint8Array } | undefined {
  if (PNG_HEAD.every((byte, i) => bytes[i] === byte)) return barePng(bytes);
  if (bytes[0] === 0xff && bytes[1] === 0xd8 && bytes[2] === 0xff) return bareJpeg(bytes);
  return undefined;
}

const SOS = 0xda;
const COM = 0xfe;
/** APP0 says how it is to be shown, APP2 holds the colour profile, APP14 how colours were made; the other APPn are chatter. */
const isChatter = (marker: number): boolean =>
  marker === COM || (marker >= 0xe1 && marker <= 0xef && marker !== 0xe2 && marker !== 0xee);

function bareJpeg(bytes: Uint8Array) {
  const kept: Uint8Array[] = [bytes.subarray(0, 2)];
  let at = 2;
  while (at + 4 <= bytes.length) {
    const marker = bytes[at + 1] ?? 0;
    if (bytes[at] !== 0xff) return undefined;
    if (marker === SOS) {
      // From here on picture, up to the end-of-image marker; nothing after it is kept.
      const end = endOfImage(bytes, at);
      if (end === undefined) return undefined;
      kept.push(bytes.subarray(at, end));
      return { type: 'image/jpeg', bytes: joined(kept) } as const;
    }
    const length = ((bytes[at + 2] ?? 0) << 8) | (bytes[at + 3] ?? 0);
    if (length < 2) return undefined;
    if (!isChatter(marker)) kept.push(bytes.subarray(at, at + 2 + length));
    at += 2 + length;
  }
  return undefined;
}

function endOfImage(bytes: Uint8Array, from: number): number | undefined {
  for (let i = bytes.length - 2; i >= from; i--)
    if (bytes[i] === 0xff && bytes[i + 1] === 0xd9) return i + 2;
  return undefined;
}

function barePng(bytes: Uint8Array) {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const kept: Uint8Array[] = [bytes.subarray(0, 8)];
  let at = 8;
  while (at + 12 <= bytes.length) {
    const end = at + 12 + view.getUint32(at);
    if (end > bytes.length) return undefined;
    const kind = String.fromCharCode(...bytes.subarray(at + 4, at + 8));
    if (!PNG_CHATTER.has(kind)) kept.push(bytes.subarray(at, end));
    if (kind === 'IEND') return { type: 'image/png', bytes: joined(kept) } as const;
    at = end;
  }
  return undefined;
}

function joined(parts: readonly Uint8Array[]): Uint8Array {
  const all = new Uint8Array(parts.reduce((sum, { length }) => sum + length, 0));
  let at = 0;
  for (const part of parts) {
    all.set(part, at);
    at += part.length;
  }
  return all;
}
