import { appendFileSync, mkdtempSync, renameSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { readLogChunk } from './follow-log.ts';

let folder: string;
let log: string;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'duskline-log-'));
  log = join(folder, 'readings.csv');
});
afterEach(() => rmSync(folder, { recursive: true }));

describe('following a log', () => {
  it('waits for a file that is not there yet', () => {
    expect(readLogChunk(log, undefined, 10)).toBeUndefined();
  });

  it('goes on from where it stood, and leaves a line still being written', () => {
    writeFileSync(log, 'a\r\nb\nc');
    const first = readLogChunk(log, undefined, 10);
    expect(first?.lines).toEqual(['a', 'b']);
    appendFileSync(log, 'c\nd\n');
    expect(readLogChunk(log, first?.cursor, 10)?.lines).toEqual(['cc', 'd']);
  });

  it('reads no more lines than asked for, and says that more wait', () => {
    writeFileSync(log, '1\n2\n3\n');
    const first = readLogChunk(log, undefined, 2);
    expect(first).toMatchObject({ lines: ['1', '2'], more: true });
    expect(readLogChunk(log, first?.cursor, 2)).toMatchObject({ lines: ['3'], more: false });
  });

  it('begins anew in a file that took the place of the old one, or was cut short', () => {
    writeFileSync(log, 'old 1\nold 2\n');
    const first = readLogChunk(log, undefined, 10);
    renameSync(log, `${log}.1`);
    writeFileSync(log, 'new 1\nnew 2\nnew 3\n');
    expect(readLogChunk(log, first?.cursor, 10)?.lines).toEqual(['new 1', 'new 2', 'new 3']);
    writeFileSync(log, 'x\n');
    expect(readLogChunk(log, { inode: first?.cursor.inode ?? 0, offset: 500 }, 10)?.lines).toEqual([
      'x',
    ]);
  });

  it('steps over a line too long to hold a reading instead of stopping for ever', () => {
    writeFileSync(log, `${'x'.repeat(70_000)}\nok\n`);
    let cursor = readLogChunk(log, undefined, 10)?.cursor;
    const seen: string[] = [];
    for (let i = 0; i < 4; i++) {
      const chunk = readLogChunk(log, cursor, 10);
      seen.push(...(chunk?.lines ?? []));
      cursor = chunk?.cursor;
    }
    expect(seen.at(-1)).toBe('ok');
  });
});
