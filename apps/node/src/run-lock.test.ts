import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, it } from 'vitest';
import { takeRunLock } from './run-lock.ts';

let folder: string;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'duskline-lock-'));
});
afterEach(() => rmSync(folder, { recursive: true }));

it('a folder is taken while the process lives, and free when it gives it back', () => {
  // The parent of this process: alive, and not us.
  const stat = readFileSync(`/proc/${process.ppid}/stat`, 'utf8');
  const ticks = stat.slice(stat.lastIndexOf(')') + 2).split(' ')[19];
  const boot = readFileSync('/proc/sys/kernel/random/boot_id', 'utf8').trim();
  writeFileSync(join(folder, 'running'), `${process.ppid} ${ticks} ${boot}`);
  expect(takeRunLock(folder)).toEqual({
    ok: false,
    fault: { pid: process.ppid, mark: expect.any(String) },
  });
  // Its number given to another process meanwhile, as after a restart of the board.
  writeFileSync(join(folder, 'running'), `${process.ppid} 1 ${boot}`);
  const lock = takeRunLock(folder);
  expect(lock.ok).toBe(true);
  if (lock.ok) lock.value();
  expect(takeRunLock(folder).ok).toBe(true);
});

it.each(['', 'rubbish', '999999999 1 x', '-1'])('a lock that says %j holds nobody up', (text) => {
  writeFileSync(join(folder, 'running'), text);
  expect(takeRunLock(folder).ok).toBe(true);
});
