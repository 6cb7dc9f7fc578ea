import { createHash } from 'node:crypto';
import { closeSync, fstatSync, openSync, readSync, readdirSync, statSync } from 'node:fs';
import { basename, dirname, join } from 'node:path';
import { unpackedLog } from './unpacked-log.ts';

/**
 * Where reading stands: after so many bytes of the file in which these bytes stand before that point. What a file is called,
 * and its number on the disk, change and are used again; the readings just read do not.
 */
export interface LogCursor {
  readonly offset: number;
  /** Digest of the last bytes before the offset. */
  readonly before: string;
  /** In the midst of a line that is too long to be one. */
  readonly insideLine?: true;
}

const BEFORE_BYTES = 1024;
/** Packed in ways that cannot be read here; `.gz` can. */
const UNREADABLE = /\.(bz2|xz|zst|zip|tmp|part)$/;
const PACKED = /\.gz$/;

export const isPacked = (path: string): boolean => PACKED.test(path);

/** A log open for reading, on the disk or unpacked in memory. */
export interface LogBytes {
  readonly size: number;
  /** Bytes from there on, fewer at the end. */
  readonly read: (offset: number, length: number) => Buffer;
}

function bytesOf(file: number): LogBytes {
  return {
    size: fstatSync(file).size,
    read(offset, length) {
      const bytes = Buffer.alloc(length);
      return bytes.subarray(0, readSync(file, bytes, 0, length, offset));
    },
  };
}

/** The cursor that stands at this offset of an open file, or of a part of one that has been read. */
export function cursorAt(file: Pick<LogBytes, 'read'>, offset: number): LogCursor {
  const from = Math.max(0, offset - BEFORE_BYTES);
  const bytes = file.read(from, offset - from);
  return { offset, before: createHash('sha256').update(bytes).digest('base64url').slice(0, 16) };
}

/** Bytes of a file with what stands before them, so that cursors can be set in them when the file has long another name. */
export function readPart(file: LogBytes, offset: number, length: number) {
  const startsAt = Math.max(0, offset - BEFORE_BYTES);
  const all = file.read(startsAt, offset - startsAt + length);
  const read = (from: number, count: number) =>
    all.subarray(from - startsAt, from - startsAt + count);
  return { bytes: all.subarray(offset - startsAt), read };
}

/** @returns undefined when there is no such file, or a packed one is not whole */
export function withFile<T>(path: string, work: (file: LogBytes) => T): T | undefined {
  if (PACKED.test(path)) {
    const bytes = unpackedLog(path);
    if (bytes === undefined) return undefined;
    return work({
      size: bytes.length,
      read: (offset, length) => bytes.subarray(offset, offset + length),
    });
  }
  let file: number;
  try {
    file = openSync(path, 'r');
  } catch (cause) {
    if ((cause as { code?: string }).code === 'ENOENT') return undefined;
    throw cause;
  }
  try {
    return work(bytesOf(file));
  } finally {
    closeSync(file);
  }
}

/** Does the cursor stand in this open file? */
export const standsIn = (file: LogBytes, cursor: LogCursor): boolean =>
  file.size >= cursor.offset && cursorAt(file, cursor.offset).before === cursor.before;

/** A file of the log, and which one it is: names change hands. */
export interface LogFile {
  readonly path: string;
  readonly inode: number;
}

/**
 * The log and what it was called before: `readings.csv.2`, `readings.csv.1`, `readings.csv`; also packed, as `.gz`. The packed
 * ones first, for nobody packs a log and leaves an older one; not every program that packs keeps the time of the file.
 */
export function logFiles(path: string): readonly LogFile[] {
  const [folder, name] = [dirname(path), basename(path)];
  const older = namesIn(folder)
    .filter((other) => other !== name && other.startsWith(name) && !UNREADABLE.test(other))
    .flatMap((other) => {
      const stat = statSync(join(folder, other), { throwIfNoEntry: false });
      if (stat?.isFile() !== true) return [];
      return [{ path: join(folder, other), inode: stat.ino, mtimeMs: stat.mtimeMs }];
    })
    .sort((a, b) => Number(isPacked(b.path)) - Number(isPacked(a.path)) || a.mtimeMs - b.mtimeMs);
  const inode = statSync(path, { throwIfNoEntry: false })?.ino ?? 0;
  return [...older, { path, inode }];
}

function namesIn(folder: string): readonly string[] {
  try {
    return readdirSync(folder);
  } catch {
    return [];
  }
}
