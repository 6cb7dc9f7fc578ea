import { deflateSync } from 'node:zlib';
import { describe, expect, it } from 'vitest';
import { barePicture } from './bare-picture.ts';

const ascii = (text: string) => [...Buffer.from(text, 'latin1')];
const segment = (marker: number, body: readonly number[]) => [
  ...[0xff, marker, (body.length + 2) >> 8, (body.length + 2) & 255],
  ...body,
];
/** Not a picture anybody could see, but built as ITU-T T.81 says: markers with lengths, then the scan, then the end. */
const jpeg = (...segments: number[][]) =>
  new Uint8Array([
    ...[0xff, 0xd8],
    ...segments.flat(),
    ...segment(0xda, [1, 1, 0, 0, 63, 0]),
    ...[0x12, 0xff, 0x00, 0x34, 0xff, 0xd9],
  ]);
const chunk = (kind: string, body: readonly number[]) => {
  const length = Buffer.alloc(4);
  length.writeUInt32BE(body.length);
  // The check sum is not looked at here.
  return [...length, ...ascii(kind), ...body, 0, 0, 0, 0];
};
const PNG_HEAD = [0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a];
const png = (...chunks: number[][]) =>
  new Uint8Array([...PNG_HEAD, ...chunks.flat(), ...chunk('IEND', [])]);
const text = (bytes: Uint8Array | undefined) => Buffer.from(bytes ?? []).toString('latin1');

describe('a picture as it is kept', () => {
  it('is a JPEG without the place it was taken at, and with its colours', () => {
    const app0 = segment(0xe0, ascii('JFIF\0'));
    const exif = segment(0xe1, ascii('Exif\0\0GPS 54.7184 -2.3151'));
    const profile = segment(0xe2, ascii('ICC_PROFILE\0'));
    const words = segment(0xfe, ascii('taken by Wren'));
    const bare = barePicture(jpeg(app0, exif, profile, words));
    expect(bare?.type).toBe('image/jpeg');
    expect([...(bare?.bytes ?? [])]).toEqual([...jpeg(app0, profile)]);
  });

  it('ends with the picture: what was hung on behind is left out', () => {
    const hung = new Uint8Array([...jpeg(), ...ascii('<script>')]);
    expect(text(barePicture(hung)?.bytes)).not.toContain('script');
  });

  it('is a PNG without words and place', () => {
    const ihdr = chunk('IHDR', [0, 0, 0, 1, 0, 0, 0, 1, 8, 0, 0, 0, 0]);
    const idat = chunk('IDAT', [...deflateSync(Buffer.from([0, 0]))]);
    const bare = barePicture(
      png(ihdr, chunk('eXIf', ascii('GPS')), chunk('tEXt', ascii('x')), idat),
    );
    expect(bare?.type).toBe('image/png');
    expect([...(bare?.bytes ?? [])]).toEqual([...png(ihdr, idat)]);
  });

  it.each([
    ['nothing', new Uint8Array()],
    ['a page', new Uint8Array(ascii('<svg onload="x()"/>'))],
    ['a JPEG cut off before its scan', new Uint8Array([0xff, 0xd8, 0xff, 0xe0, 0, 16, 1])],
    ['a JPEG without an end', jpeg().subarray(0, -2)],
    [
      'a PNG whose chunk is longer than itself',
      new Uint8Array([...PNG_HEAD, 0, 0, 1, 0, ...ascii('IDAT'), 0, 0, 0, 0]),
    ],
    ['a GIF', new Uint8Array(ascii('GIF89a'))],
  ])('is refused when it is %s', (_what, bytes) => {
    expect(barePicture(bytes)).toBeUndefined();
  });
});
