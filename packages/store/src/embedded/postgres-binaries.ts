import { existsSync } from 'node:fs';
import { readFile, symlink } from 'node:fs/promises';
import { createRequire } from 'node:module';
import path from 'node:path';
import { EmbeddedPostgresError } from './embedded-postgres-error.ts';

export interface PostgresBinaries {
  readonly initdb: string;
  readonly postgres: string;
}

/**
 * Finds the Postgres programs that came with the installation.
 *
 * @returns the folder of the npm package's `native` tree, or undefined when this platform has none.
 */
export function findNativeFolder(): string | undefined {
  const require = createRequire(import.meta.url);
  try {
    const entry = require.resolve(`@embedded-postgres/${process.platform}-${process.arch}`);
    const native = path.resolve(path.dirname(entry), '..', 'native');
    return existsSync(path.join(native, 'bin', 'postgres')) ? native : undefined;
  } catch {
    return undefined;
  }
}

/**
 * The programs, ready to run: links between their shared libraries are made where an installation
 * without install scripts left them out.
 *
 * @throws EmbeddedPostgresError `no-binaries`.
 */
export async function preparePostgresBinaries(): Promise<PostgresBinaries> {
  const native = findNativeFolder();
  if (native === undefined) {
    throw new EmbeddedPostgresError(
      'no-binaries',
      `No Postgres programs are installed for ${process.platform}-${process.arch}. ` +
        'Install without --omit=optional, or give the URL of a Postgres server of your own.',
    );
  }
  await linkLibraries(native);
  return {
    initdb: path.join(native, 'bin', 'initdb'),
    postgres: path.join(native, 'bin', 'postgres'),
  };
}

interface LibraryLink {
  /** Both relative to the package: `native/lib/libx.so.1.2` is to be found as `native/lib/libx.so`. */
  readonly source: string;
  readonly target: string;
}

async function linkLibraries(native: string): Promise<void> {
  const listFile = path.join(native, 'pg-symlinks.json');
  if (!existsSync(listFile)) return;
  const links = JSON.parse(await readFile(listFile, 'utf8')) as readonly LibraryLink[];
  const packageFolder = path.dirname(native);
  for (const { source, target } of links) {
    const linkFile = path.resolve(packageFolder, target);
    if (existsSync(linkFile)) continue;
    const from = path.relative(path.dirname(linkFile), path.resolve(packageFolder, source));
    await symlink(from, linkFile).catch(ignoreExisting);
  }
}

/** Another process may have made the same link meanwhile. */
function ignoreExisting(error: NodeJS.ErrnoException): void {
  if (error.code !== 'EEXIST') throw error;
}
