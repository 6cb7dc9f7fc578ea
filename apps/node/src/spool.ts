import { mkdirSync, readFileSync, readdirSync, renameSync, rmSync } from 'node:fs';
import { join } from 'node:path';
import type { Lane, MessagePlace } from '@duskline/domain';
import { nextBootNumber } from './boot-number.ts';
import { writeDurably } from './durable-file.ts';
import { decodeSpoolFile, encodeSpoolFile } from './spool-file.ts';

/** A message on its way: it stays here until the server says that it is committed. */
export interface SpoolEntry {
  readonly place: MessagePlace;
  readonly lane: Lane;
}

/** The messages not yet acknowledged, on disk: they outlive a kill and a power cut. */
export interface Spool {
  readonly boot: () => number;
  /** Oldest first. */
  readonly pending: () => readonly SpoolEntry[];
  /**
   * Keeps a message before anybody sends it.
   * @throws when the disk does not take it: then it is not kept, and its number is not used up
   */
  readonly add: (message: {
    readonly lane: Lane;
    readonly note: string;
    readonly encode: (place: MessagePlace) => Uint8Array;
  }) => SpoolEntry;
  /** The bytes of a kept message; undefined when the disk no longer has them as they were written. */
  readonly read: (entry: SpoolEntry) => Uint8Array | undefined;
  /** Forgets all messages of that boot up to that number. */
  readonly acknowledge: (place: MessagePlace) => void;
  /** Begins numbering anew, under a boot of its own. */
  readonly beginBoot: () => void;
  /** Sends a message no more, but keeps its file in the folder `set-aside`. */
  readonly setAside: (entry: SpoolEntry) => void;
  /** The note of the newest message ever kept. */
  readonly lastNote: () => string | undefined;
  /** Keeps a newer note without a message, as far as that can be done safely now. */
  readonly keepNote: (note: string) => void;
}

export interface SpoolOptions {
  readonly onFault?: (reason: string) => void;
  readonly now?: () => number;
  readonly chance?: () => number;
}

/** Held separately, so that nothing is read twice when the spool is empty. */
interface KeptNote {
  readonly place: MessagePlace;
  readonly note: string;
}

const NAME = /^(\d{10})-(\d{10})-(live|backlog)\.msg$/;
const BOOT_FILE = 'boot';
const NOTE_FILE = 'note';
const SET_ASIDE = 'set-aside';
const CORRUPT = 'corrupt';

/**
 * Opens the spool in a folder and begins a new boot in it.
 *
 * A file that the disk has spoiled is moved to the folder `corrupt`, and `lastNote` goes back to before it, so that its
 * readings are made again from the log; the server keeps every reading once.
 */
export function openSpool(folder: string, options: SpoolOptions = {}): Spool {
  const { now = Date.now, chance = Math.random, onFault = () => undefined } = options;
  mkdirSync(folder, { recursive: true, mode: 0o700 });
  const found = readEntries(folder, onFault);
  let pending: SpoolEntry[] = [...found.entries];
  let kept = readNote(folder);
  let lastNote = newestNote(found, kept);

  const known = [
    wholeNumber(readText(join(folder, BOOT_FILE))),
    kept?.place.boot,
    found.highestBoot,
  ].filter((boot) => boot !== undefined);
  let boot = nextBootNumber(known.length === 0 ? undefined : Math.max(...known), now(), chance());
  let seq = 0;
  const rememberBoot = () => writeDurably(folder, BOOT_FILE, Buffer.from(String(boot)));
  rememberBoot();

  /** The note goes first: a crash in between repeats messages, which the server knows already, and loses none. */
  function forget(done: readonly SpoolEntry[], dispose: (entry: SpoolEntry) => void): void {
    const last = done.at(-1);
    if (last === undefined) return;
    const settled = new Set(done);
    const reachesAnEnd = done[0] === pending[0] || last === pending.at(-1);
    const note = reachesAnEnd ? readEntry(folder, last)?.note : undefined;
    if (note !== undefined && isAfter(last.place, kept?.place)) keep({ place: last.place, note });
    done.forEach(dispose);
    pending = pending.filter((entry) => !settled.has(entry));
  }
  function keep(next: KeptNote): void {
    writeDurably(folder, NOTE_FILE, Buffer.from(JSON.stringify(next), 'utf8'));
    kept = next;
  }

  return {
    boot: () => boot,
    pending: () => pending,
    lastNote: () => lastNote,
    read: (entry) => readEntry(folder, entry)?.payload,
    add({ lane, note, encode }) {
      const place = { boot, seq: seq + 1 };
      const entry = { place, lane };
      writeDurably(folder, nameOf(entry), encodeSpoolFile({ note, payload: encode(place) }));
      seq += 1;
      pending.push(entry);
      lastNote = note;
      return entry;
    },
    acknowledge(upTo) {
      const done = pending.filter(({ place }) => place.boot === upTo.boot && place.seq <= upTo.seq);
      forget(done, (entry) => rmSync(join(folder, nameOf(entry)), { force: true }));
    },
    setAside: (entry) => forget([entry], () => moveTo(folder, SET_ASIDE, nameOf(entry))),
    beginBoot() {
      if (seq === 0) return;
      boot = nextBootNumber(boot, now(), chance());
      seq = 0;
      rememberBoot();
    },
    keepNote(note) {
      lastNote = note;
      // With messages waiting the kept note must stay behind them: it is where reading goes back to if they spoil.
      if (pending.length === 0) keep({ place: { boot, seq }, note });
    },
  };
}

interface FoundEntries {
  readonly entries: readonly SpoolEntry[];
  readonly highestBoot: number | undefined;
  /** Of the last entry before the first spoiled one. */
  readonly note: KeptNote | undefined;
  readonly firstSpoiled: MessagePlace | undefined;
}

function readEntries(folder: string, onFault: (reason: string) => void): FoundEntries {
  const entries: SpoolEntry[] = [];
  let highestBoot: number | undefined;
  let note: KeptNote | undefined;
  let firstSpoiled: MessagePlace | undefined;
  for (const name of readdirSync(folder).sort()) {
    const entry = entryOf(name);
    if (entry === undefined) continue;
    highestBoot = entry.place.boot;
    const content = readEntry(folder, entry);
    if (content === undefined) {
      firstSpoiled ??= entry.place;
      moveTo(folder, CORRUPT, name);
      onFault(
        `the disk has spoiled the kept message ${name}; it is now in ${CORRUPT}/, and its lines are read again`,
      );
      continue;
    }
    entries.push(entry);
    if (firstSpoiled === undefined) note = { place: entry.place, note: content.note };
  }
  return { entries, highestBoot, note, firstSpoiled };
}

function newestNote(
  { note, firstSpoiled }: FoundEntries,
  kept: KeptNote | undefined,
): string | undefined {
  const usable =
    kept !== undefined && firstSpoiled !== undefined && isAfter(kept.place, firstSpoiled)
      ? undefined
      : kept;
  if (note === undefined) return usable?.note;
  return usable !== undefined && isAfter(usable.place, note.place) ? usable.note : note.note;
}

const isAfter = (place: MessagePlace, other: MessagePlace | undefined): boolean =>
  other === undefined ||
  place.boot > other.boot ||
  (place.boot === other.boot && place.seq > other.seq);

function entryOf(name: string): SpoolEntry | undefined {
  const match = NAME.exec(name);
  if (match === null) return undefined;
  return {
    place: { boot: Number(match[1]), seq: Number(match[2]) },
    lane: match[3] === 'live' ? 'live' : 'backlog',
  };
}

const nameOf = ({ place, lane }: SpoolEntry): string =>
  `${String(place.boot).padStart(10, '0')}-${String(place.seq).padStart(10, '0')}-${lane}.msg`;

function readEntry(folder: string, entry: SpoolEntry) {
  try {
    return decodeSpoolFile(readFileSync(join(folder, nameOf(entry))));
  } catch {
    // A card that fails gives read errors; for us the message is then as good as spoiled.
    return undefined;
  }
}

/** A note that cannot be read counts as none: reading then begins anew, which doubles nothing at the server. */
function readNote(folder: string): KeptNote | undefined {
  try {
    const said = JSON.parse(readText(join(folder, NOTE_FILE)) ?? '') as Partial<KeptNote> | null;
    const { boot, seq } = said?.place ?? {};
    if (!Number.isSafeInteger(boot) || !Number.isSafeInteger(seq)) return undefined;
    return typeof said?.note === 'string' ? (said as KeptNote) : undefined;
  } catch {
    return undefined;
  }
}

function wholeNumber(text: string | undefined): number | undefined {
  return text !== undefined && /^\d{1,10}$/.test(text) ? Number(text) : undefined;
}

function readText(path: string): string | undefined {
  try {
    return readFileSync(path, 'utf8');
  } catch {
    return undefined;
  }
}

function moveTo(folder: string, place: string, name: string): void {
  mkdirSync(join(folder, place), { recursive: true, mode: 0o700 });
  renameSync(join(folder, name), join(folder, place, name));
}
