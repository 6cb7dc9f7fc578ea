import {
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  truncateSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { openSpool, type Spool } from './spool.ts';

let folder: string;
let faults: string[];
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'duskline-spool-'));
  faults = [];
});
afterEach(() => rmSync(folder, { recursive: true }));

/** With a clock that was never set, so that boots count 1, 2, 3. */
const open = (): Spool =>
  openSpool(folder, { now: () => 0, chance: () => 0, onFault: (reason) => faults.push(reason) });
const message = (note: string) => ({
  lane: 'live' as const,
  note,
  encode: ({ boot, seq }: { boot: number; seq: number }) => Buffer.from(`${boot}/${seq} ${note}`),
});
const payloads = (spool: Spool) =>
  spool.pending().map((entry) => Buffer.from(spool.read(entry) ?? 'spoiled').toString());
const messageFiles = (within = folder) =>
  readdirSync(within)
    .filter((name) => name.endsWith('.msg'))
    .sort();

describe('the spool', () => {
  it('numbers messages from 1 in each boot, and gives a new boot to each opening', () => {
    const first = open();
    first.add(message('a'));
    first.add(message('b'));
    const second = open();
    second.add(message('c'));
    expect(payloads(second)).toEqual(['1/1 a', '1/2 b', '2/1 c']);
  });

  it('forgets only what was acknowledged, boot by boot', () => {
    const first = open();
    first.add(message('a'));
    first.add(message('b'));
    const second = open();
    second.add(message('c'));
    second.acknowledge({ boot: 1, seq: 1 });
    expect(payloads(second)).toEqual(['1/2 b', '2/1 c']);
    second.acknowledge({ boot: 2, seq: 9 });
    expect(payloads(open())).toEqual(['1/2 b']);
  });

  it('knows the newest note after everything is acknowledged and the program was killed', () => {
    const first = open();
    first.add(message('line 40'));
    first.add(message('line 80'));
    first.acknowledge({ boot: 1, seq: 2 });
    expect(open().lastNote()).toBe('line 80');
    expect(open().pending()).toEqual([]);
  });

  it('knows the newest note also when the newest message went first', () => {
    open().add(message('line 40'));
    const second = open();
    second.add(message('line 80'));
    second.acknowledge({ boot: 2, seq: 1 });
    const third = open();
    expect(payloads(third)).toEqual(['1/1 line 40']);
    expect(third.lastNote()).toBe('line 80');
    third.acknowledge({ boot: 1, seq: 1 });
    expect(open().lastNote()).toBe('line 80');
  });

  it('keeps a note without a message, over a restart', () => {
    const spool = open();
    spool.add(message('line 40'));
    spool.acknowledge({ boot: 1, seq: 1 });
    spool.keepNote('line 50');
    expect(open().lastNote()).toBe('line 50');
  });

  it('takes no half-written message for a message', () => {
    open().add(message('whole'));
    writeFileSync(join(folder, '0000000001-0000000002-live.msg.part'), 'hal');
    expect(payloads(open())).toEqual(['1/1 whole']);
    expect(messageFiles()).toHaveLength(1);
  });

  it('does not use up a number when the disk takes no message', () => {
    const spool = open();
    spool.add(message('a'));
    expect(() =>
      spool.add({
        ...message('b'),
        encode: () => {
          throw new Error('full');
        },
      }),
    ).toThrow('full');
    spool.add(message('c'));
    expect(payloads(spool)).toEqual(['1/1 a', '1/2 c']);
  });
});

describe('a disk that fails', () => {
  const spoil: readonly (readonly [string, (path: string) => void])[] = [
    ['is empty', (path) => truncateSync(path, 0)],
    ['is cut short', (path) => truncateSync(path, 30)],
    [
      'has one bit turned',
      (path) => {
        const bytes = readFileSync(path);
        bytes[bytes.length - 1] = (bytes.at(-1) ?? 0) ^ 1;
        writeFileSync(path, bytes);
      },
    ],
  ];
  it.each(spoil)('a message that %s is put by, and reading goes back before it', (_how, damage) => {
    const first = open();
    for (const note of ['line 10', 'line 20', 'line 30']) first.add(message(note));
    damage(join(folder, messageFiles()[1] ?? ''));
    const second = open();
    expect(payloads(second)).toEqual(['1/1 line 10', '1/3 line 30']);
    expect(second.lastNote()).toBe('line 10');
    expect(messageFiles(join(folder, 'corrupt'))).toEqual(['0000000001-0000000002-live.msg']);
    expect(faults.join()).toContain('spoiled');
    expect(payloads(open())).toHaveLength(2);
  });

  it('goes back to the last acknowledged note when the oldest message is spoiled', () => {
    const first = open();
    for (const note of ['line 10', 'line 20', 'line 30']) first.add(message(note));
    first.acknowledge({ boot: 1, seq: 1 });
    truncateSync(join(folder, messageFiles()[0] ?? ''), 3);
    expect(open().lastNote()).toBe('line 10');
  });

  it('never gives a boot number twice when the file that counts them is spoiled', () => {
    open().add(message('a'));
    open().add(message('b'));
    for (const rubbish of ['', '\0\0\0', 'NaN', '-4']) {
      writeFileSync(join(folder, 'boot'), rubbish);
      expect(open().boot()).toBeGreaterThan(2);
    }
  });

  it('starts with a note that cannot be read', () => {
    const first = open();
    first.add(message('line 10'));
    first.acknowledge({ boot: 1, seq: 1 });
    for (const rubbish of ['', '{', 'null', '"x"', '{"place":{}}']) {
      writeFileSync(join(folder, 'note'), rubbish);
      expect(open().lastNote()).toBeUndefined();
    }
  });
});

it('a message that is set aside is sent no more, and kept', () => {
  const spool = open();
  const entry = spool.add(message('a'));
  spool.beginBoot();
  spool.add(message('b'));
  spool.setAside(entry);
  expect(payloads(spool)).toEqual(['2/1 b']);
  expect(messageFiles(join(folder, 'set-aside'))).toHaveLength(1);
  expect(payloads(open())).toEqual(['2/1 b']);
});
