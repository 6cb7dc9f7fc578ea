import { createHash } from 'node:crypto';

/** What one file of the spool holds. */
export interface SpoolContent {
  /** What the sender wants to know again after a crash, e.g. how far the log has been read. */
  readonly note: string;
  readonly payload: Uint8Array;
}

const MAGIC = Buffer.from('DUSK1');
const DIGEST_BYTES = 16;
const LENGTH_BYTES = 4;
const HEAD_BYTES = MAGIC.length + DIGEST_BYTES + LENGTH_BYTES;

/** A mark, a digest of what follows, the length of the note, the note, the payload: cards fail by silently changing bytes. */
export function encodeSpoolFile({ note, payload }: SpoolContent): Uint8Array {
  const noteBytes = Buffer.from(note, 'utf8');
  const length = Buffer.alloc(LENGTH_BYTES);
  length.writeUInt32BE(noteBytes.length);
  const content = Buffer.concat([length, noteBytes, payload]);
  return Buffer.concat([MAGIC, digestOf(content), content]);
}

/** @returns undefined when these are not the bytes that were written */
export function decodeSpoolFile(bytes: Buffer): SpoolContent | undefined {
  if (bytes.length < HEAD_BYTES || !bytes.subarray(0, MAGIC.length).equals(MAGIC)) return undefined;
  const digest = bytes.subarray(MAGIC.length, MAGIC.length + DIGEST_BYTES);
  const content = bytes.subarray(MAGIC.length + DIGEST_BYTES);
  if (!digestOf(content).equals(digest)) return undefined;
  const noteEnd = LENGTH_BYTES + content.readUInt32BE(0);
  return {
    note: content.subarray(LENGTH_BYTES, noteEnd).toString('utf8'),
    payload: content.subarray(noteEnd),
  };
}

const digestOf = (content: Buffer): Buffer =>
  createHash('sha256').update(content).digest().subarray(0, DIGEST_BYTES);
