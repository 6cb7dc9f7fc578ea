import { readFileSync, statSync } from 'node:fs';
import { gunzipSync } from 'node:zlib';

/** A year of lines every half minute is less. What is larger unpacked is not read: a small board has little memory. */
const LARGEST_BYTES = 48 * 1024 * 1024;

let last: { readonly mark: string; readonly bytes: Buffer } | undefined;

/**
 * What is in a log packed by `gzip`. The last one is remembered, because it is read in many small pieces.
 *
 * @returns undefined when it is not there, not whole (still being packed), or too large
 */
export function unpackedLog(path: string): Buffer | undefined {
  const stat = statSync(path, { throwIfNoEntry: false });
  if (stat === undefined) return undefined;
  const mark = `${path} ${stat.size} ${stat.mtimeMs}`;
  if (last?.mark === mark) return last.bytes;
  try {
    last = { mark, bytes: gunzipSync(readFileSync(path), { maxOutputLength: LARGEST_BYTES }) };
    return last.bytes;
  } catch {
    return undefined;
  }
}

/** Gives the memory back when reading has gone on to another file. */
export function forgetUnpackedLog(): void {
  last = undefined;
}
