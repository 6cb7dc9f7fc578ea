import type { FileHandle } from 'node:fs/promises';
import { CardRefused } from './card-refused.ts';

/** A member of a zip archive (PKWARE APPNOTE 6.3, sections 4.3.7, 4.3.12, 4.3.16; from memory). */
export interface ZipEntry {
  readonly name: string;
  /** 0 stored, 8 deflated. */
  readonly method: number;
  readonly packedBytes: number;
  readonly dataOffset: number;
}

export const MOST_ENTRIES = 1000;
const END_BYTES = 22;
const LONGEST_COMMENT = 65_535;

/**
 * The text files in a zip archive, from its directory. Folders and what systems put beside files are passed over.
 *
 * @throws CardRefused `card-damaged`, `card-too-many-entries`
 */
export async function zipEntries(file: FileHandle, size: number): Promise<readonly ZipEntry[]> {
  const tail = await read(file, Math.max(0, size - END_BYTES - LONGEST_COMMENT), size);
  const end = tail.lastIndexOf(Buffer.from([0x50, 0x4b, 5, 6]));
  if (end < 0 || end + END_BYTES > tail.length) throw damaged();
  const count = tail.readUInt16LE(end + 10);
  const [bytes, offset] = [tail.readUInt32LE(end + 12), tail.readUInt32LE(end + 16)];
  if (count > MOST_ENTRIES)
    throw new CardRefused(
      'card-too-many-entries',
      `The archive has ${count.toLocaleString('en-GB')} files; ${MOST_ENTRIES} are the most. Bring the logs by themselves.`,
    );
  if (offset + bytes > size) throw damaged();
  const directory = await read(file, offset, offset + bytes);
  const entries: ZipEntry[] = [];
  let at = 0;
  for (let index = 0; index < count; index += 1) {
    if (at + 46 > directory.length || directory.readUInt32LE(at) !== 0x02014b50) throw damaged();
    const [nameBytes, extraBytes, commentBytes] = [28, 30, 32].map((place) =>
      directory.readUInt16LE(at + place),
    ) as [number, number, number];
    const name = directory.toString('utf8', at + 46, at + 46 + nameBytes);
    const [flags, method] = [directory.readUInt16LE(at + 8), directory.readUInt16LE(at + 10)];
    const packedBytes = directory.readUInt32LE(at + 20);
    const header = directory.readUInt32LE(at + 42);
    at += 46 + nameBytes + extraBytes + commentBytes;
    if (name.endsWith('/') || /(?:^|\/)(?:__MACOSX\/|\.)/.test(name)) continue;
    if ((flags & 1) === 1 || (method !== 0 && method !== 8)) throw damaged(name);
    const local = await read(file, header, header + 30);
    if (local.length < 30 || local.readUInt32LE(0) !== 0x04034b50) throw damaged(name);
    const dataOffset = header + 30 + local.readUInt16LE(26) + local.readUInt16LE(28);
    if (dataOffset + packedBytes > size) throw damaged(name);
    entries.push({ name, method, packedBytes, dataOffset });
  }
  return entries;
}

const damaged = (name?: string): CardRefused =>
  new CardRefused(
    'card-damaged',
    name === undefined
      ? 'The archive is cut off or damaged: copy it again from the card.'
      : `“${name}” in the archive is damaged, locked by a password or packed in an unusual way: unpack it and bring the log itself.`,
  );

async function read(file: FileHandle, from: number, to: number): Promise<Buffer> {
  const buffer = Buffer.alloc(Math.max(0, to - from));
  const { bytesRead } = await file.read(buffer, 0, buffer.length, from);
  return buffer.subarray(0, bytesRead);
}
