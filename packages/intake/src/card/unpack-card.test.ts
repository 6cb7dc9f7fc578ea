import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { deflateRawSync, gzipSync } from 'node:zlib';
import { afterAll, describe, expect, it } from 'vitest';
import { createLineCutter } from './cut-lines.ts';
import { newUnpackBudget, unpackCard } from './unpack-card.ts';

const folder = mkdtempSync(join(tmpdir(), 'duskline-unpack-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

async function textsOf(
  name: string,
  bytes: Uint8Array,
  budget = newUnpackBudget(),
): Promise<Record<string, string>> {
  const path = join(folder, name);
  writeFileSync(path, bytes);
  const texts: Record<string, string> = {};
  for await (const text of unpackCard({ path, name }, budget)) {
    const parts: Uint8Array[] = [];
    for await (const chunk of text.chunks) parts.push(chunk);
    texts[text.name] = Buffer.concat(parts).toString();
  }
  return texts;
}

/** A zip archive as PKWARE's APPNOTE has it (sections 4.3.7, 4.3.12, 4.3.16; from memory). */
function zip(entries: Readonly<Record<string, Buffer>>): Buffer {
  const [locals, directory]: [Buffer[], Buffer[]] = [[], []];
  let offset = 0;
  for (const [name, data] of Object.entries(entries)) {
    const packed = deflateRawSync(data);
    const common = Buffer.alloc(26);
    common.writeUInt16LE(20, 0);
    common.writeUInt16LE(8, 4);
    common.writeUInt32LE(gzipSync(data).readUInt32LE(gzipSync(data).length - 8), 10);
    common.writeUInt32LE(packed.length, 14);
    common.writeUInt32LE(data.length, 18);
    common.writeUInt16LE(Buffer.byteLength(name), 22);
    const local = Buffer.concat([Buffer.from('PK\x03\x04'), common, Buffer.from(name), packed]);
    const entry = Buffer.alloc(16);
    entry.writeUInt32LE(offset, 12);
    directory.push(
      Buffer.concat([
        Buffer.from('PK\x01\x02'),
        Buffer.from([20, 0]),
        common,
        entry.subarray(2),
        Buffer.from(name),
      ]),
    );
    locals.push(local);
    offset += local.length;
  }
  const all = Buffer.concat(directory);
  const end = Buffer.alloc(18);
  end.writeUInt16LE(directory.length, 4);
  end.writeUInt16LE(directory.length, 6);
  end.writeUInt32LE(all.length, 8);
  end.writeUInt32LE(offset, 12);
  return Buffer.concat([...locals, all, Buffer.from('PK\x05\x06'), end]);
}

const log = Buffer.from('time,batt_v\n2026-11-25T07:00:00Z,12.8\n');

describe('files of a card', () => {
  it('are text, packed by gzip, or several in a zip archive', async () => {
    expect(await textsOf('log.csv', log)).toEqual({ 'log.csv': log.toString() });
    expect(await textsOf('log.csv.gz', gzipSync(log))).toEqual({ 'log.csv': log.toString() });
    const texts = await textsOf(
      'card.zip',
      zip({ 'a.csv': log, '__MACOSX/._a.csv': log, 'sub/b.csv': log }),
    );
    expect(texts).toEqual({
      'card.zip › a.csv': log.toString(),
      'card.zip › sub/b.csv': log.toString(),
    });
  });

  it(
    'are refused as bombs, damage, pictures, and archives within archives',
    { timeout: 60_000 },
    async () => {
      const refused = (name: string, bytes: Uint8Array, left?: number) =>
        textsOf(name, bytes, left === undefined ? undefined : { left }).then(
          () => 'taken',
          (error: { code: string }) => error.code,
        );
      expect(await refused('bomb.gz', gzipSync(Buffer.alloc(20_000_000, 0x20)))).toBe(
        'card-packed-too-tightly',
      );
      expect(newUnpackBudget().left).toBe(200_000_000);
      expect(await refused('large.csv', Buffer.alloc(100_001, 0x31), 100_000)).toBe(
        'card-too-large',
      );
      expect(
        await refused('torn.gz', gzipSync(Buffer.alloc(90_000, 'tarn gill ')).subarray(0, 100)),
      ).toBe('card-damaged');
      expect(await refused('torn.zip', zip({ 'a.csv': log }).subarray(0, 60))).toBe('card-damaged');
      expect(
        await refused(
          'photo.jpg',
          Buffer.from(Array.from({ length: 900 }, (_none, i) => (i * 37) % 32)),
        ),
      ).toBe('card-not-text');
      expect(
        await refused('nested.zip', zip({ 'inner.zip': zip({ 'a.csv': Buffer.alloc(9000, 7) }) })),
      ).toMatch(/card-(not-text|damaged)/);
      expect(
        await refused(
          'many.zip',
          zip(Object.fromEntries(Array.from({ length: 1001 }, (_none, i) => [`${i}.csv`, log]))),
        ),
      ).toBe('card-too-many-entries');
    },
  );

  it('are cut into lines whatever ends them and wherever the pieces break, and not where a line is endless', () => {
    const bytes = Buffer.from('\ufeffa;°C\r\nb\0\0;2\rc;3\n\nd', 'utf8');
    for (let size = 1; size <= bytes.length; size += 1) {
      const cutter = createLineCutter();
      const lines: string[] = [];
      for (let at = 0; at < bytes.length; at += size)
        lines.push(...cutter.push(bytes.subarray(at, at + size)));
      lines.push(...cutter.end());
      expect(lines.map((line) => line.replace('\ufeff', ''))).toEqual([
        'a;°C',
        'b;2',
        'c;3',
        '',
        'd',
      ]);
    }
    const endless = createLineCutter();
    expect(() =>
      Array.from({ length: 40 }, () => endless.push(Buffer.alloc(65_536, 0x31))),
    ).toThrow(/1 MB/);
  });
});
