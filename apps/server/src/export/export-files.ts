import { createReadStream, createWriteStream, fdatasync } from 'node:fs';
import { mkdir, open, rename, rm, stat } from 'node:fs/promises';
import { createHash } from 'node:crypto';
import { join } from 'node:path';
import { Transform, type Readable, type Writable } from 'node:stream';

/**
 * Written to disk so many bytes at a time: what the system holds back is written all at once later, and the database beside it
 * waits seconds for a commit meanwhile.
 */
const SYNC_BYTES = 8 << 20;

/** Files of exports, a folder each. A file that is not whole bears another name, so that it is never taken for one. */
export interface ExportFiles {
  /** A file to write; `keep` makes it whole and says what it is. */
  create(id: number): Promise<{
    readonly out: Writable;
    keep(): Promise<{ readonly bytes: number; readonly sha256: string }>;
    discard(): Promise<void>;
  }>;
  /** Bytes of the file, or undefined when it is not there. */
  size(id: number): Promise<number | undefined>;
  read(id: number, from: number, to: number): Readable;
  remove(id: number): Promise<void>;
}

export function exportFiles(folder: string): ExportFiles {
  const place = (id: number): string => join(folder, String(id));
  const whole = (id: number): string => join(place(id), 'export');
  const broken = (id: number): string => join(place(id), 'export.part');
  return {
    async create(id) {
      await mkdir(place(id), { recursive: true, mode: 0o700 });
      const hash = createHash('sha256');
      let bytes = 0;
      let syncedBytes = 0;
      const file = createWriteStream(broken(id), { mode: 0o600 });
      const out = new Transform({
        transform(chunk: Uint8Array, _encoding, done) {
          hash.update(chunk);
          bytes += chunk.length;
          // A stream that was broken has no file any more.
          const { fd } = file as { readonly fd?: number | null };
          if (bytes - syncedBytes < SYNC_BYTES || typeof fd !== 'number') return done(null, chunk);
          syncedBytes = bytes;
          fdatasync(fd, (error) => done(error, chunk));
        },
      });
      // A disk that is full may say so when nobody is writing; whoever writes next is told.
      out.on('error', () => undefined);
      const closed = new Promise<void>((resolve, reject) => {
        file.once('close', resolve);
        file.once('error', (error) => {
          out.destroy(error);
          reject(error);
        });
      });
      closed.catch(() => undefined);
      out.pipe(file);
      return {
        out,
        async keep() {
          await closed;
          const handle = await open(broken(id), 'r+');
          try {
            await handle.sync();
          } finally {
            await handle.close();
          }
          await rename(broken(id), whole(id));
          return { bytes, sha256: hash.digest('hex') };
        },
        async discard() {
          out.destroy();
          file.destroy();
          await closed.catch(() => undefined);
          await rm(place(id), { recursive: true, force: true });
        },
      };
    },
    async size(id) {
      try {
        return (await stat(whole(id))).size;
      } catch (error) {
        if ((error as NodeJS.ErrnoException).code === 'ENOENT') return undefined;
        throw error;
      }
    },
    read: (id, from, to) =>
      createReadStream(whole(id), {
        start: from,
        end: Math.max(from, to - 1),
        highWaterMark: 1 << 18,
      }),
    remove: (id) => rm(place(id), { recursive: true, force: true }),
  };
}
