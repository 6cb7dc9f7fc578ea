import { execFile } from 'node:child_process';
import { existsSync } from 'node:fs';
import { mkdir, readdir, readFile, rename, rm } from 'node:fs/promises';
import path from 'node:path';
import { promisify } from 'node:util';
import type { DataFolder } from './data-folder.ts';
import { EmbeddedPostgresError } from './embedded-postgres-error.ts';
import type { PostgresBinaries } from './postgres-binaries.ts';
import type { Durability } from './server-settings.ts';
import type { UnprivilegedCommand } from './unprivileged-command.ts';

const run = promisify(execFile);

export const DATABASE_USER = 'duskline';

/**
 * Creates the database cluster when the folder has none yet. It is made beside its place and renamed
 * when complete, so that a start interrupted half-way leaves nothing half made.
 *
 * @throws EmbeddedPostgresError `other-version` when the files were written by another major version.
 */
export async function initCluster(
  folder: DataFolder,
  binaries: PostgresBinaries,
  how: { readonly command: UnprivilegedCommand; readonly durability: Durability },
): Promise<void> {
  const { command } = how;
  if (existsSync(path.join(folder.cluster, 'PG_VERSION'))) {
    await refuseOtherVersion(folder, binaries, command);
    return;
  }
  for (const name of await readdir(folder.root)) {
    if (name.startsWith('cluster.new-'))
      await rm(path.join(folder.root, name), { recursive: true });
  }
  const draft = `${folder.cluster}.new-${process.pid}`;
  await runUnprivileged(command, binaries.initdb, [
    `--pgdata=${draft}`,
    `--username=${DATABASE_USER}`,
    `--pwfile=${folder.passwordFile}`,
    '--auth=scram-sha-256',
    '--encoding=UTF8',
    // The same order of text on every machine, whatever its language.
    '--locale-provider=builtin',
    '--builtin-locale=C.UTF-8',
    '--locale=C',
    '--no-instructions',
    ...(how.durability === 'none' ? ['--no-sync'] : []),
  ]);
  await mkdir(folder.root, { recursive: true });
  await rename(draft, folder.cluster);
}

async function refuseOtherVersion(
  folder: DataFolder,
  binaries: PostgresBinaries,
  command: UnprivilegedCommand,
): Promise<void> {
  const written = (await readFile(path.join(folder.cluster, 'PG_VERSION'), 'utf8')).trim();
  // "postgres (PostgreSQL) 18.4"
  const brought = /(\d+)/.exec(
    await runUnprivileged(command, binaries.postgres, ['--version']),
  )?.[1];
  if (written === brought) return;
  throw new EmbeddedPostgresError(
    'other-version',
    `The data in ${folder.cluster} was written by Postgres ${written}, this installation brings ` +
      `${brought ?? 'none'}. Export with the old installation and import with the new one.`,
  );
}

async function runUnprivileged(
  command: UnprivilegedCommand,
  program: string,
  args: readonly string[],
): Promise<string> {
  const [file = program, ...rest] = [...command.prefix, program, ...args];
  try {
    const { stdout } = await run(file, rest, { env: { ...process.env, LC_ALL: 'C' } });
    return stdout;
  } catch (error) {
    const said = (error as { stderr?: string }).stderr?.trim() ?? String(error);
    throw new EmbeddedPostgresError('did-not-start', `${path.basename(program)} failed: ${said}`, {
      cause: error,
    });
  }
}
