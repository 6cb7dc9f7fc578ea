import { createHash } from 'node:crypto';
import { closeSync, fstatSync, openSync, readSync, readdirSync, statSync } from 'node:fs';
import { basename, dirname, join } from 'node:path';

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
const PACKED = /\.(gz|bz2|xz|zst|zip)$/;

/** Bytes of a file, fewer at its end. */
export function readAt(file: number, offset: number, length: number): Buffer {
  const bytes = Buffer.alloc(length);
  const read = readSync(file, bytes, 0, length, offset);
  return bytes.subarray(0, read);
}

/** The cursor that stands at this offset of an open file. */
export function cursorAt(file: number, offset: number): LogCursor {
  const from = Math.max(0, offset - BEFORE_BYTES);
  const bytes = readAt(file, from, offset - from);
  return { offset, before: createHash('sha256').update(bytes).digest('base64url').slice(0, 16) };
}

export function withFile<T>(path: string, work: (file: number, size: number) => T): T | undefined {
  let file: number;
  try {
    file = openSync(path, 'r');
  } catch (cause) {
    if ((cause as { code?: string }).code === 'ENOENT') return undefined;
    throw cause;
  }
  try {
    return work(file, fstatSync(file).size);
  } finally {
    closeSync(file);
  }
}

/** Does the cursor stand in this file? */
export const standsIn = (path: string, cursor: LogCursor): boolean =>
  withFile(
    path,
    (file, size) => size >= cursor.offset && cursorAt(file, cursor.offset).before === cursor.before,
  ) ?? false;

/** The log and what it was called before: `readings.csv.2`, `readings.csv.1`, `readings.csv`; packed ones cannot be read. */
export function logFiles(path: string): readonly string[] {
  const [folder, name] = [dirname(path), basename(path)];
  const older = namesIn(folder)
    .filter((other) => other !== name && other.startsWith(name) && !PACKED.test(other))
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
