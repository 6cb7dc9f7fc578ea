import { createHash } from 'node:crypto';
import { existsSync, mkdirSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { buffer } from 'node:stream/consumers';
import { afterAll, describe, expect, it } from 'vitest';
import { exportFiles } from './export-files.ts';

const folder = mkdtempSync(join(tmpdir(), 'duskline-export-files-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));
const files = exportFiles(folder);

describe('the files of exports', () => {
  it('are there when they are whole, and not before', async () => {
    const file = await files.create(1);
    file.out.write('site_id\r\n');
    expect(await files.size(1)).toBeUndefined();
    file.out.end('weir\r\n');
    const text = 'site_id\r\nweir\r\n';
    expect(await file.keep()).toEqual({
      bytes: text.length,
      sha256: createHash('sha256').update(text).digest('hex'),
    });
    expect(await files.size(1)).toBe(text.length);
    expect((await buffer(files.read(1, 9, 13))).toString()).toBe('weir');
    await files.remove(1);
    expect(await files.size(1)).toBeUndefined();
  });

  it('leave nothing behind when they are given up', async () => {
    const file = await files.create(2);
    file.out.write('half');
    await file.discard();
    expect(existsSync(join(folder, '2'))).toBe(false);
  });

  it('fail for who writes them, not for the whole server, when they cannot be written', async () => {
    // A folder stands where the file is to be: opening it fails, as it does on a full or a torn disk, while nobody writes.
    mkdirSync(join(folder, '3', 'export.part'), { recursive: true });
    const file = await files.create(3);
    await expect(file.keep()).rejects.toMatchObject({ code: 'EISDIR' });
    expect(file.out.destroyed).toBe(true);
    expect(await files.size(3)).toBeUndefined();
    await file.discard();
  });
});
