import { mkdir, open, readdir, rm, stat } from 'node:fs/promises';
import { join } from 'node:path';

/** Where the files of card imports lie while they are looked at. Their names here are numbers; what they were called is only said. */
export interface CardFiles {
  path(id: number, place: number): string;
  /** Bytes that are here. */
  received(id: number, place: number): Promise<number>;
  /** @returns false when the piece does not follow what is here */
  append(
    id: number,
    piece: { readonly place: number; readonly offset: number; readonly bytes: Uint8Array },
  ): Promise<boolean>;
  remove(id: number): Promise<void>;
  /** Imports that have files here. */
  imports(): Promise<readonly number[]>;
}

export function createCardFiles(folder: string): CardFiles {
  const folderOf = (id: number): string => join(folder, String(id));
  const path = (id: number, place: number): string => join(folderOf(id), String(place));
  const received = async (id: number, place: number): Promise<number> =>
    await stat(path(id, place)).then(
      ({ size }) => size,
      () => 0,
    );
  return {
    path,
    received,
    async append(id, { place, offset, bytes }) {
      const here = await received(id, place);
      // A piece that was sent again because its answer was lost is here already.
      if (offset + bytes.length <= here) return true;
      if (offset !== here) return false;
      await mkdir(folderOf(id), { recursive: true, mode: 0o700 });
      const file = await open(path(id, place), 'a', 0o600);
      try {
        await file.writeFile(bytes);
      } finally {
        await file.close();
      }
      return true;
    },
    remove: (id) => rm(folderOf(id), { recursive: true, force: true }),
    imports: async () =>
      (await readdir(folder).catch((): string[] => [])).map(Number).filter(Number.isSafeInteger),
  };
}
