import { ok, type Result } from '@duskline/domain';
import { refuse, type WireFault } from './faults.ts';
import { MAX_DEPTH, MAX_RECORDS } from './pack-limits.ts';
import { tooDeep, tooManyRecords } from './scan-json.ts';

const BREAK = 0xff;
const ARGUMENT_BYTES = [1, 2, 4, 8];
const MAJOR_BYTES = 2;
const MAJOR_TEXT = 3;
const MAJOR_ARRAY = 4;
const MAJOR_MAP = 5;
const MAJOR_TAG = 6;
const INDEFINITE = 31;

const utf8 = new TextDecoder('utf-8', { fatal: true });

/**
 * Looks over one CBOR item before it is decoded: nesting (tags count), number of records, lengths that run past the end, and
 * text that is not UTF-8, which the decoder would replace in silence.
 *
 * One pass, no recursion; the list of open containers is never longer than the depth allowed. RFC 8949 §3 (from memory).
 */
export function scanCbor(bytes: Uint8Array): Result<void, WireFault> {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  /** Items still to come in each open container. */
  const open: number[] = [];
  let at = 0;
  let records = 0;
  do {
    if (at >= bytes.length) return cutShort();
    const head = view.getUint8(at);
    at += 1;
    if (head === BREAK) {
      if (open.pop() !== Infinity) return refuse('cbor-malformed', MALFORMED);
    } else {
      if (open.length === 1) records += 1;
      if (records > MAX_RECORDS) return tooManyRecords();
      const major = head >> 5;
      const read = readArgument(view, at, head & 31);
      if (read === undefined) return cutShort();
      at = read.next;
      const inside = itemsInside(major, read.argument);
      if (major === MAJOR_BYTES || major === MAJOR_TEXT) {
        if (read.argument === Infinity) return refuse('cbor-malformed', CHUNKED);
        if (at + read.argument > bytes.length) return cutShort();
        if (major === MAJOR_TEXT && !isUtf8(bytes, at, at + read.argument)) {
          return refuse('text-not-utf8', 'A text in the pack is not valid UTF-8; send UTF-8.');
        }
        at += read.argument;
      } else if (inside > 0) {
        open.push(inside);
        if (open.length > MAX_DEPTH) return tooDeep();
        continue;
      }
    }
    closeFinished(open);
  } while (open.length > 0);
  return ok(undefined);
}

const MALFORMED = 'The payload is not valid CBOR; check that it was sent whole and unchanged.';
const CHUNKED =
  'The payload has a text or bytes of indefinite length; RFC 8428 asks for definite lengths (section 6).';

const cutShort = (): Result<never, WireFault> =>
  refuse('cbor-malformed', 'The CBOR payload ends in the middle; check that it was sent whole.');

function itemsInside(major: number, argument: number): number {
  if (major === MAJOR_ARRAY) return argument;
  if (major === MAJOR_MAP) return argument * 2;
  return major === MAJOR_TAG ? 1 : 0;
}

/** The number after a head: its value, or Infinity for an indefinite length; undefined when the bytes end or make no sense. */
function readArgument(
  view: DataView,
  at: number,
  info: number,
): { readonly argument: number; readonly next: number } | undefined {
  if (info < 24) return { argument: info, next: at };
  if (info === INDEFINITE) return { argument: Infinity, next: at };
  const size = ARGUMENT_BYTES[info - 24];
  if (size === undefined || at + size > view.byteLength) return undefined;
  const next = at + size;
  if (size === 1) return { argument: view.getUint8(at), next };
  if (size === 2) return { argument: view.getUint16(at), next };
  if (size === 4) return { argument: view.getUint32(at), next };
  return { argument: Number(view.getBigUint64(at)), next };
}

/** One item is complete: so are the containers of which it was the last. */
function closeFinished(open: number[]): void {
  while (open.length > 0) {
    const left = (open[open.length - 1] ?? 0) - 1;
    if (left > 0) {
      open[open.length - 1] = left;
      return;
    }
    open.pop();
  }
}

/** Nearly all text here is ASCII; only what is not is put to the decoder. */
function isUtf8(bytes: Uint8Array, from: number, to: number): boolean {
  for (let i = from; i < to; i += 1) {
    if ((bytes[i] ?? 0) < 0x80) continue;
    try {
      utf8.decode(bytes.subarray(from, to));
      return true;
    } catch {
      return false;
    }
  }
  return true;
}
