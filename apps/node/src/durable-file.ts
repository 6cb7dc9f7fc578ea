import { closeSync, fsyncSync, openSync, renameSync, rmSync, writeSync } from 'node:fs';
import { join } from 'node:path';

/**
 * Writes a file so that after a power cut there is the whole of it or what was there before: written beside, forced to the
 * disk, renamed, and the folder forced to the disk too, which is what makes the new name last (fsync(2), Linux manual).
 */
export function writeDurably(folder: string, name: string, bytes: Uint8Array): void {
  const beside = join(folder, `${name}.part`);
  try {
    const file = openSync(beside, 'w', 0o600);
    try {
      for (let at = 0; at < bytes.length;) at += writeSync(file, bytes, at);
      fsyncSync(file);
    } finally {
      closeSync(file);
    }
    renameSync(beside, join(folder, name));
  } catch (cause) {
    rmSync(beside, { force: true });
    throw cause;
  }
  syncFolder(folder);
}

function syncFolder(folder: string): void {
  const handle = openSync(folder, 'r');
  try {
    fsyncSync(handle);
  } finally {
    closeSync(handle);
  }
}
