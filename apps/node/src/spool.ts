import {
  closeSync,
  fsyncSync,
  mkdirSync,
  openSync,
  readFileSync,
  readdirSync,
  renameSync,
  rmSync,
  writeSync,
} from 'node:fs';
import { join } from 'node:path';
import type { Lane, MessagePlace } from '@duskline/domain';

/** A message on its way: it stays here until the server says that it is committed. */
export interface SpooledMessage {
  readonly place: MessagePlace;
  readonly lane: Lane;
  readonly payload: Uint8Array;
  /** What the sender wants to know again after a crash, e.g. how far the log has been read. */
  readonly note: string;
}

/** The messages not yet acknowledged, on disk: they outlive a kill and a power cut. */
export interface Spool {
  readonly boot: number;
  readonly pending: () => readonly SpooledMessage[];
  readonly add: (message: {
    lane: Lane;
    note: string;
    encode: (place: MessagePlace) => Uint8Array;
  }) => SpooledMessage;
  /** Forgets all messages of that boot up to that number, and returns the note of the last one. */
  readonly acknowledge: (place: MessagePlace) => void;
  /** The note of the newest message ever added. */
  readonly lastNote: () => string | undefined;
}

const NAME = /^(\d{10})-(\d{10})-(live|backlog)\.msg$/;

/**
 * Opens the spool in a folder and begins a new boot in it.
 *
 * One file a message, written beside and renamed: a crash leaves whole messages or none. The note of the last
 * acknowledged message is kept, so that nothing is read twice when the folder is empty.
 */
export function openSpool(folder: string): Spool {
  mkdirSync(folder, { recursive: true });
  const boot = Number(readText(join(folder, 'boot')) ?? '0') + 1;
  writeDurably(folder, 'boot', Buffer.from(String(boot)));
  let lastNote = readText(join(folder, 'note'));
  const pending: SpooledMessage[] = [];
  for (const name of readdirSync(folder).sort()) {
    const match = NAME.exec(name);
    if (match === null) continue;
    const bytes = readFileSync(join(folder, name));
    const noteBytes = bytes.readUInt32BE(0);
    const note = bytes.subarray(4, 4 + noteBytes).toString('utf8');
    pending.push({
      place: { boot: Number(match[1]), seq: Number(match[2]) },
      lane: match[3] as Lane,
      payload: bytes.subarray(4 + noteBytes),
      note,
    });
    lastNote = note;
  }
  let seq = 0;

  return {
    boot,
    pending: () => pending,
    lastNote: () => lastNote,
    add({ lane, note, encode }) {
      const place = { boot, seq: seq + 1 };
      const message = { place, lane, note, payload: encode(place) };
      const noteBytes = Buffer.from(note, 'utf8');
      const head = Buffer.alloc(4);
      head.writeUInt32BE(noteBytes.length);
      writeDurably(folder, fileName(message), Buffer.concat([head, noteBytes, message.payload]));
      seq += 1;
      pending.push(message);
      lastNote = note;
      return message;
    },
    acknowledge(upTo) {
      const done = pending.filter(({ place }) => place.boot === upTo.boot && place.seq <= upTo.seq);
      const last = done.at(-1);
      if (last === undefined) return;
      // The note first: a crash in between repeats a message, which the server knows already, and loses none.
      if (last === pending.at(-1)) writeDurably(folder, 'note', Buffer.from(last.note, 'utf8'));
      for (const message of done) {
        rmSync(join(folder, fileName(message)), { force: true });
        pending.splice(pending.indexOf(message), 1);
      }
    },
  };
}

const fileName = ({ place, lane }: SpooledMessage): string =>
  `${String(place.boot).padStart(10, '0')}-${String(place.seq).padStart(10, '0')}-${lane}.msg`;

function readText(path: string): string | undefined {
  try {
    return readFileSync(path, 'utf8');
  } catch (cause) {
    if ((cause as { code?: string }).code === 'ENOENT') return undefined;
    throw cause;
  }
}

function writeDurably(folder: string, name: string, bytes: Buffer): void {
  const beside = join(folder, `${name}.part`);
  const file = openSync(beside, 'w', 0o600);
  try {
    writeSync(file, bytes);
    fsyncSync(file);
  } finally {
    closeSync(file);
  }
  renameSync(beside, join(folder, name));
}
