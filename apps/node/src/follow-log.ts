import { statSync } from 'node:fs';
import {
  cursorAt,
  isPacked,
  logFiles,
  readPart,
  standsIn,
  withFile,
  type LogBytes,
  type LogCursor,
  type LogFile,
} from './log-files.ts';
import { forgetUnpackedLog } from './unpacked-log.ts';

export interface LogLine {
  readonly text: string;
  /** Bytes of the file up to and with this line. */
  readonly endOffset: number;
}

export interface LogChunk {
  readonly path: string;
  readonly lines: readonly LogLine[];
  /** Stands behind the last line of the chunk. */
  readonly cursor: LogCursor;
  /** Stands behind one of its lines. */
  readonly cursorBehind: (endOffset: number) => LogCursor;
  /** The first line of this file, whatever the cursor: the header when the log has one. */
  readonly firstLine: string;
  /** A line longer than any reading can be was stepped over. */
  readonly tooLong: boolean;
  /** The file in which reading stood is gone; this one was begun at its start. */
  readonly lostPlace: boolean;
}

const CHUNK_BYTES = 64 * 1024;
/** A log that was renamed may still be written to for a moment; after that its unfinished last line is a line. */
const SETTLED_MS = 10_000;

/**
 * Reads the next whole lines of a log that another program is writing. A line still being written waits for its end. When the
 * log was renamed (`readings.csv` → `readings.csv.1`) the rest of the old file comes first, then those after it. What is
 * renamed or packed just now is left until that is over: a name that changed hands must not make a file be passed over.
 *
 * @returns undefined when there is no such file yet, or nothing new in it
 */
export function readLogChunk(
  path: string,
  from: LogCursor | undefined,
  list: typeof logFiles = logFiles,
): LogChunk | undefined {
  if (from === undefined || from.offset === 0) return readStart(path);
  const here = readOn(path, from);
  if (here !== 'elsewhere') {
    forgetUnpackedLog();
    return here;
  }
  const files = list(path);
  const chunk = readBehind(files, from);
  return isUnchanged(files, list(path)) ? chunk : undefined;
}

/** The next lines behind the cursor in the file that has it, or in one after that. */
function readBehind(files: readonly LogFile[], from: LogCursor): LogChunk | undefined {
  const current = files.at(-1)?.path ?? '';
  const at = files.findLastIndex(
    ({ path }) => withFile(path, (file) => standsIn(file, from)) === true,
  );
  if (at === -1) {
    const chunk = readStart(current);
    return chunk === undefined ? undefined : { ...chunk, lostPlace: true };
  }
  for (const [i, { path }] of files.slice(at).entries()) {
    const next = i === 0 ? readOn(path, from) : readStart(path);
    if (next === 'elsewhere') return undefined;
    const chunk = next ?? lastLineOf(path, i === 0 ? from : undefined, current);
    if (chunk !== undefined) return chunk;
    // A pack that is not whole yet stands beside the file it is made from, which has been read.
    if (path !== current && !isPacked(path) && !isSettled(path)) return undefined;
  }
  return undefined;
}

const isUnchanged = (files: readonly LogFile[], later: readonly LogFile[]): boolean =>
  files.length === later.length &&
  files.every(({ path, inode }, i) => later[i]?.path === path && later[i].inode === inode);

const readStart = (path: string): LogChunk | undefined =>
  withFile(path, (file) => readFrom(path, file, undefined));

/** Looks and reads in the same open file: by the time it is opened again, its name may be another one's. */
const readOn = (path: string, from: LogCursor): LogChunk | undefined | 'elsewhere' => {
  const found = withFile(path, (file) =>
    standsIn(file, from) ? { chunk: readFrom(path, file, from) } : undefined,
  );
  return found === undefined ? 'elsewhere' : found.chunk;
};

function readFrom(path: string, file: LogBytes, from: LogCursor | undefined): LogChunk | undefined {
  const offset = from?.offset ?? 0;
  const part = readPart(file, offset, CHUNK_BYTES);
  const { lines, used, insideLine } = wholeLines(part.bytes, offset, from?.insideLine === true);
  if (used === 0) return undefined;
  const cursorBehind = (endOffset: number) => cursorAt(part, endOffset);
  return {
    path,
    lines,
    cursor: { ...cursorBehind(offset + used), ...(insideLine ? { insideLine } : {}) },
    cursorBehind,
    firstLine: firstLineOf(file),
    tooLong: insideLine && from?.insideLine !== true,
    lostPlace: false,
  };
}

/** What stands behind the last line end of a file that nobody writes to any more. */
function lastLineOf(
  path: string,
  from: LogCursor | undefined,
  current: string,
): LogChunk | undefined {
  if (path === current || !isSettled(path) || from?.insideLine === true) return undefined;
  return withFile(path, (file) => {
    const { size } = file;
    const offset = from?.offset ?? 0;
    if (size <= offset || (from !== undefined && !standsIn(file, from))) return undefined;
    const part = readPart(file, offset, size - offset);
    const cursorBehind = (endOffset: number) => cursorAt(part, endOffset);
    return {
      path,
      lines: [{ text: clean(part.bytes), endOffset: size }],
      cursor: cursorBehind(size),
      cursorBehind,
      firstLine: firstLineOf(file),
      tooLong: false,
      lostPlace: false,
    };
  });
}

function isSettled(path: string): boolean {
  const stat = statSync(path, { throwIfNoEntry: false });
  return stat === undefined || Date.now() - stat.mtimeMs > SETTLED_MS;
}

const firstLineOf = (file: LogBytes): string =>
  clean(file.read(0, 16 * 1024))
    .split('\n', 1)[0]
    ?.replace(/\r$/, '') ?? '';

function wholeLines(bytes: Buffer, offset: number, startsInside: boolean) {
  const lines: LogLine[] = [];
  let used = 0;
  let inside = startsInside;
  for (;;) {
    const end = bytes.indexOf(0x0a, used);
    if (end === -1) break;
    if (!inside)
      lines.push({ text: clean(bytes.subarray(used, end)), endOffset: offset + end + 1 });
    inside = false;
    used = end + 1;
  }
  // A line longer than the chunk can hold no reading of ours: step over it, or nothing would ever move again.
  const stuck = used === 0 && bytes.length === CHUNK_BYTES;
  if (stuck || (inside && used === 0)) return { lines, used: bytes.length, insideLine: true };
  return { lines, used, insideLine: false };
}

/** Without the mark some editors put first, and the zeros that a power cut leaves in a file that was growing. */
const clean = (bytes: Buffer): string =>
  bytes
    .toString('utf8')
    .replace(/\0+/g, '')
    .replace(/^\uFEFF/, '')
    .replace(/\r$/, '');
