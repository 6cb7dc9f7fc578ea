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

/** The cursor that stands at this offset of an open file. */
export function cursorAt(file: LogBytes, offset: number): LogCursor {
  const from = Math.max(0, offset - BEFORE_BYTES);
  const bytes = file.read(from, offset - from);
  return { offset, before: createHash('sha256').update(bytes).digest('base64url').slice(0, 16) };
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

/** Does the cursor stand in this file? */
export const standsIn = (path: string, cursor: LogCursor): boolean =>
  withFile(
    path,
    (file) => file.size >= cursor.offset && cursorAt(file, cursor.offset).before === cursor.before,
  ) ?? false;

/** The log and what it was called before: `readings.csv.2`, `readings.csv.1`, `readings.csv`; also packed, as `.gz`. */
export function logFiles(path: string): readonly string[] {
  const [folder, name] = [dirname(path), basename(path)];
  const older = namesIn(folder)
    .filter((other) => other !== name && other.startsWith(name) && !UNREADABLE.test(other))
    .flatMap((other) => {
      const stat = statSync(join(folder, other), { throwIfNoEntry: false });
      return stat?.isFile() === true ? [{ path: join(folder, other), mtimeMs: stat.mtimeMs }] : [];
    })
    .sort((a, b) => a.mtimeMs - b.mtimeMs);
  return [...older.map((file) => file.path), path];
}

function namesIn(folder: string): readonly string[] {
  try {
    return readdirSync(folder);
  } catch {
    return [];
  }
}
