import { mkdtempSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { openSpool } from './spool.ts';

let folder: string;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'duskline-spool-'));
});
afterEach(() => rmSync(folder, { recursive: true }));

const message = (note: string) => ({
  lane: 'live' as const,
  note,
  encode: ({ boot, seq }: { boot: number; seq: number }) => Buffer.from(`${boot}/${seq} ${note}`),
});
const payloads = (spool: ReturnType<typeof openSpool>) =>
  spool.pending().map(({ payload }) => Buffer.from(payload).toString());

describe('the spool', () => {
  it('numbers messages from 1 in each boot, and gives a new boot to each opening', () => {
    const first = openSpool(folder);
    first.add(message('a'));
    first.add(message('b'));
    const second = openSpool(folder);
    second.add(message('c'));
    expect(payloads(second)).toEqual(['1/1 a', '1/2 b', '2/1 c']);
  });

  it('forgets only what was acknowledged, boot by boot', () => {
    const first = openSpool(folder);
    first.add(message('a'));
    first.add(message('b'));
    const second = openSpool(folder);
    second.add(message('c'));
    second.acknowledge({ boot: 1, seq: 1 });
    expect(payloads(second)).toEqual(['1/2 b', '2/1 c']);
    second.acknowledge({ boot: 2, seq: 9 });
    expect(payloads(openSpool(folder))).toEqual(['1/2 b']);
  });

  it('knows the note of the newest message after everything is acknowledged and the program was killed', () => {
    const first = openSpool(folder);
    first.add(message('line 40'));
    first.add(message('line 80'));
    first.acknowledge({ boot: 1, seq: 2 });
    expect(openSpool(folder).lastNote()).toBe('line 80');
    expect(openSpool(folder).pending()).toEqual([]);
  });

  it('takes no half-written message for a message', () => {
    const spool = openSpool(folder);
    spool.add(message('whole'));
    writeFileSync(join(folder, '0000000001-0000000002-live.msg.part'), 'hal');
    expect(payloads(openSpool(folder))).toEqual(['1/1 whole']);
    expect(readdirSync(folder).filter((name) => name.endsWith('.msg'))).toHaveLength(1);
  });
});
