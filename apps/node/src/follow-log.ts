import { closeSync, fstatSync, openSync, readSync } from 'node:fs';

/** Where reading stands: which file (its number on the disk) and how many bytes of it. */
export interface LogCursor {
  readonly inode: number;
  readonly offset: number;
}

export interface LogChunk {
  readonly lines: readonly string[];
  /** Stands behind the last whole line of the chunk. */
  readonly cursor: LogCursor;
  /** The first line of the file, whatever the cursor: the header when the log has one. */
  readonly firstLine: string;
  /** More whole lines may be waiting. */
  readonly more: boolean;
}

const CHUNK_BYTES = 64 * 1024;

/**
 * Reads the next whole lines of a log that another program is writing.
 *
 * A file that was replaced or cut short is read from its start. A line still being written waits for its end.
 * @returns undefined when there is no such file yet
 */
export function readLogChunk(
  path: string,
  from: LogCursor | undefined,
  maxLines: number,
): LogChunk | undefined {
  let file: number;
  try {
    file = openSync(path, 'r');
  } catch (cause) {
    if ((cause as { code?: string }).code === 'ENOENT') return undefined;
    throw cause;
  }
  try {
    const { ino, size } = fstatSync(file);
    const same = from !== undefined && from.inode === ino && from.offset <= size;
    const offset = same ? from.offset : 0;
    const firstLine = readAt(file, 0, 4096).toString('utf8').split('\n', 1)[0] ?? '';
    const bytes = readAt(file, offset, CHUNK_BYTES);
    const { lines, used } = wholeLines(bytes, maxLines);
    return {
      lines,
      cursor: { inode: ino, offset: offset + used },
      firstLine: firstLine.replace(/\r$/, ''),
      more: used > 0 && offset + used < size,
    };
  } finally {
    closeSync(file);
  }
}

function readAt(file: number, offset: number, length: number): Buffer {
  const bytes = Buffer.alloc(length);
  const read = readSync(file, bytes, 0, length, offset);
  return bytes.subarray(0, read);
}

function wholeLines(bytes: Buffer, maxLines: number) {
  const lines: string[] = [];
  let used = 0;
  while (lines.length < maxLines) {
    const end = bytes.indexOf(0x0a, used);
    if (end === -1) {
      // A line longer than the chunk can hold no reading of ours: step over it, or nothing would ever move again.
      if (used === 0 && bytes.length === CHUNK_BYTES) used = CHUNK_BYTES;
      break;
    }
    lines.push(bytes.subarray(used, end).toString('utf8').replace(/\r$/, ''));
    used = end + 1;
  }
  return { lines, used };
}
