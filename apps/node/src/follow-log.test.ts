import {
  appendFileSync,
  copyFileSync,
  readFileSync,
  mkdtempSync,
  renameSync,
  rmSync,
  truncateSync,
  utimesSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { gzipSync } from 'node:zlib';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { readLogChunk } from './follow-log.ts';
import { logFiles, type LogCursor } from './log-files.ts';

let folder: string;
let log: string;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'duskline-log-'));
  log = join(folder, 'readings.csv');
});
afterEach(() => rmSync(folder, { recursive: true }));

/** All lines from there to the end, and where that is. */
function readOn(from?: LogCursor): {
  lines: string[];
  cursor: LogCursor | undefined;
  lost: boolean;
} {
  const lines: string[] = [];
  let [cursor, lost] = [from, false];
  for (let i = 0; i < 100; i++) {
    const chunk = readLogChunk(log, cursor);
    if (chunk === undefined) break;
    lines.push(...chunk.lines.map(({ text }) => text));
    lost ||= chunk.lostPlace;
    cursor = chunk.cursor;
  }
  return { lines, cursor, lost };
}
/** As if nobody had written to it for an hour. */
const settle = (path: string, agoS = 3600) => {
  const atS = Date.now() / 1000 - agoS;
  utimesSync(path, atS, atS);
};

describe('following a log', () => {
  it('waits for a file that is not there yet', () => {
    expect(readLogChunk(log, undefined)).toBeUndefined();
  });

  it('goes on from where it stood, and leaves a line still being written', () => {
    writeFileSync(log, 'a\r\nb\nc');
    const first = readOn();
    expect(first.lines).toEqual(['a', 'b']);
    expect(readOn(first.cursor).lines).toEqual([]);
    appendFileSync(log, 'c\nd\n');
    expect(readOn(first.cursor).lines).toEqual(['cc', 'd']);
  });

  it('reads a long log to its end in pieces, each line once', () => {
    const lines = Array.from({ length: 20_000 }, (_, i) => `line ${i}`);
    writeFileSync(log, `${lines.join('\n')}\n`);
    expect(readOn().lines).toEqual(lines);
  });

  it('steps over a line too long to hold a reading, and takes no part of it for a line', () => {
    writeFileSync(log, `first\n${'x'.repeat(150_000)}tail\nok\n`);
    expect(readOn().lines).toEqual(['first', 'ok']);
    expect(readLogChunk(log, readLogChunk(log, undefined)?.cursor)?.tooLong).toBe(true);
  });

  it('leaves out the mark of an editor and the zeros of a power cut', () => {
    writeFileSync(log, '\uFEFFa\n\0\0\0\0b\n');
    expect(readOn().lines).toEqual(['a', 'b']);
  });
});

describe('a log that is put away and begun anew', () => {
  it('is read to its end first when it was renamed', () => {
    writeFileSync(log, 'old 1\nold 2\n');
    const { cursor } = readOn();
    appendFileSync(log, 'old 3\n');
    renameSync(log, `${log}.1`);
    settle(`${log}.1`);
    writeFileSync(log, 'new 1\nnew 2\nnew 3\nnew 4\n');
    expect(readOn(cursor).lines).toEqual(['old 3', 'new 1', 'new 2', 'new 3', 'new 4']);
  });

  it('is found again through several names, oldest first, and its unfinished last line counts', () => {
    writeFileSync(log, 'a 1\n');
    const { cursor } = readOn();
    appendFileSync(log, 'a 2');
    renameSync(log, `${log}.3`);
    settle(`${log}.3`, 9000);
    writeFileSync(`${log}.2`, 'b 1\n');
    settle(`${log}.2`, 8000);
    writeFileSync(`${log}.1`, 'c 1\n');
    settle(`${log}.1`, 7000);
    writeFileSync(log, 'd 1\n');
    expect(readOn(cursor).lines).toEqual(['a 2', 'b 1', 'c 1', 'd 1']);
  });

  it('is waited for while its writer may still hold it', () => {
    writeFileSync(log, 'old 1\n');
    const { cursor } = readOn();
    renameSync(log, `${log}.1`);
    writeFileSync(log, 'new 1\n');
    expect(readOn(cursor).lines).toEqual([]);
    appendFileSync(`${log}.1`, 'old 2\n');
    expect(readOn(cursor).lines).toEqual(['old 2']);
  });

  it('is read on in the copy when it was copied and cut', () => {
    writeFileSync(log, 'old 1\n');
    const { cursor } = readOn();
    appendFileSync(log, 'old 2\n');
    copyFileSync(log, `${log}.1`);
    settle(`${log}.1`);
    truncateSync(log);
    appendFileSync(log, 'new 1\n');
    expect(readOn(cursor).lines).toEqual(['old 2', 'new 1']);
  });

  it('is known for another one even when it has grown past the old place', () => {
    writeFileSync(log, 'old 1\nold 2\n');
    const { cursor } = readOn();
    rmSync(log);
    writeFileSync(log, 'new 1\nnew 2\nnew 3\nnew 4\n');
    const after = readOn(cursor);
    expect(after.lines).toEqual(['new 1', 'new 2', 'new 3', 'new 4']);
    expect(after.lost).toBe(true);
  });

  it('is the same log when only its number on the disk changed', () => {
    writeFileSync(log, 'a\nb\n');
    const { cursor } = readOn();
    copyFileSync(log, join(folder, 'elsewhere'));
    rmSync(log);
    renameSync(join(folder, 'elsewhere'), log);
    appendFileSync(log, 'c\n');
    expect(readOn(cursor).lines).toEqual(['c']);
  });

  it('is read on where it was packed, also when several were', () => {
    writeFileSync(log, 'a\nb\n');
    const first = readOn();
    appendFileSync(log, 'c\nd');
    writeFileSync(`${log}.2.gz`, gzipSync(readFileSync(log)));
    settle(`${log}.2.gz`, 7200);
    writeFileSync(`${log}.1.gz`, gzipSync('e\nf\n'));
    settle(`${log}.1.gz`, 3600);
    writeFileSync(log, 'g\n');
    const second = readOn(first.cursor);
    expect(second.lines).toEqual(['c', 'd', 'e', 'f', 'g']);
    expect(second.lost).toBe(false);
    expect(readOn(second.cursor).lines).toEqual([]);
  });

  it('is not mistaken for a pack that is still being written', () => {
    writeFileSync(log, 'a\nb\n');
    const first = readOn();
    appendFileSync(log, 'c\n');
    renameSync(log, `${log}.1`);
    settle(`${log}.1`);
    writeFileSync(`${log}.1.gz`, gzipSync('a\nb\nc\n').subarray(0, 12));
    writeFileSync(log, 'd\n');
    expect(readOn(first.cursor).lines).toEqual(['c', 'd']);
  });
});

describe('a log that is put away while it is being looked for', () => {
  /** Lists the files, and then something happens to them, once. */
  const listThen = (happens: () => void): typeof logFiles => {
    let over = false;
    return (path) => {
      const files = logFiles(path);
      if (!over) happens();
      over = true;
      return files;
    };
  };
  const pack = (path: string) => {
    writeFileSync(`${path}.gz`, gzipSync(readFileSync(path)));
    rmSync(path);
  };

  it('loses no line when its file is packed just then', () => {
    writeFileSync(log, 'a 1\n');
    const { cursor } = readOn();
    appendFileSync(log, 'a 2\n');
    renameSync(log, `${log}.0`);
    settle(`${log}.0`);
    writeFileSync(log, 'b 1\n');
    const list = listThen(() => pack(`${log}.0`));
    expect(readLogChunk(log, cursor, list)).toBeUndefined();
    expect(readOn(cursor)).toMatchObject({ lines: ['a 2', 'b 1'], lost: false });
  });

  it('passes no file over that gets its name just then', () => {
    writeFileSync(log, 'a 1\n');
    const { cursor } = readOn();
    renameSync(log, `${log}.0`);
    settle(`${log}.0`);
    writeFileSync(log, 'b 1\n');
    const list = listThen(() => {
      renameSync(log, `${log}.1`);
      settle(`${log}.1`, 60);
      writeFileSync(log, 'c 1\n');
    });
    expect(readLogChunk(log, cursor, list)).toBeUndefined();
    expect(readOn(cursor).lines).toEqual(['b 1', 'c 1']);
  });

  it('has not lost its place when names move on just then', () => {
    writeFileSync(log, 'a 1\n');
    const { cursor } = readOn();
    appendFileSync(log, 'a 2\n');
    renameSync(log, `${log}.1`);
    settle(`${log}.1`, 7200);
    writeFileSync(log, 'b 1\n');
    const list = listThen(() => {
      renameSync(`${log}.1`, `${log}.2`);
      renameSync(log, `${log}.1`);
      settle(`${log}.1`, 60);
      writeFileSync(log, 'c 1\n');
    });
    expect(readLogChunk(log, cursor, list)).toBeUndefined();
    expect(readOn(cursor)).toMatchObject({ lines: ['a 2', 'b 1', 'c 1'], lost: false });
  });

  it('knows where a line ended, whatever its file is called by then', () => {
    writeFileSync(log, 'a 1\na 2\n');
    const chunk = readLogChunk(log, undefined);
    renameSync(log, `${log}.0`);
    settle(`${log}.0`);
    writeFileSync(log, 'b 1\nb 2\n');
    expect(readOn(chunk?.cursorBehind(4)).lines).toEqual(['a 2', 'b 1', 'b 2']);
  });

  it('comes after what was packed later than it was written', () => {
    writeFileSync(log, 'a 1\n');
    const { cursor } = readOn();
    appendFileSync(log, 'a 2\n');
    renameSync(log, `${log}.0`);
    writeFileSync(`${log}.1`, 'b 1\n');
    settle(`${log}.1`);
    writeFileSync(log, 'c 1\n');
    pack(`${log}.0`);
    expect(readOn(cursor).lines).toEqual(['a 2', 'b 1', 'c 1']);
  });

  it.each([1, 2, 3, 4, 5])(
    'is read whole and in order, whatever is done to it in between (%i)',
    (seed) => {
      // Park and Miller's generator: enough to choose what happens by.
      let state = seed;
      const chance = () => (state = (state * 48_271) % 2_147_483_647) / 2_147_483_647;
      const written: string[] = [];
      const plain: string[] = [];
      let [turns, atS] = [0, Date.now() / 1000 - 100_000];
      const write = () => {
        const lines = Array.from({ length: 1 + Math.floor(chance() * 400) }, (_, i) => {
          return `line ${written.length + i}`;
        });
        written.push(...lines);
        appendFileSync(log, `${lines.join('\n')}\n`);
      };
      const putAway = () => {
        const old = `${log}.${turns++}`;
        renameSync(log, old);
        utimesSync(old, (atS += 60), atS);
        plain.push(old);
        write();
      };
      let still = false;
      const meddle = () => {
        if (still) return;
        const what = chance();
        if (what < 0.3) write();
        else if (what < 0.5) putAway();
        else if (what < 0.7 && plain.length > 0) pack(plain.shift() ?? '');
      };
      write();
      const read: string[] = [];
      let cursor: LogCursor | undefined;
      const step = (list: typeof logFiles) => {
        const chunk = readLogChunk(log, cursor, list);
        // As much of it as a message takes.
        const taken = chunk?.lines.slice(0, 1 + Math.floor(chance() * 100)) ?? [];
        expect(chunk?.lostPlace ?? false).toBe(false);
        read.push(...taken.map(({ text }) => text));
        meddle();
        cursor = chunk?.cursorBehind(taken.at(-1)?.endOffset ?? 0) ?? cursor;
        return chunk !== undefined;
      };
      for (let i = 0; i < 300; i++) {
        step((path) => {
          const files = logFiles(path);
          meddle();
          return files;
        });
      }
      still = true;
      while (step(logFiles));
      expect(read).toEqual(written);
    },
    // Hundreds of files packed and read: seconds on a quiet disk, a minute on a busy one.
    180_000,
  );
});
