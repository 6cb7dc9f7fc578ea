import { readFile, rm } from 'node:fs/promises';
import path from 'node:path';
import type { DataFolder } from './data-folder.ts';
import { EmbeddedPostgresError } from './embedded-postgres-error.ts';
import { commandLineOf, signal, waitUntilGone } from './process-facts.ts';

const FAST_SHUTDOWN_MS = 30_000;
const IMMEDIATE_SHUTDOWN_MS = 5_000;

/**
 * Reads `postmaster.pid`, by which Postgres tells who runs and whether it takes connections: the
 * process id on line 1, the status on line 8 (PostgreSQL source, `src/include/utils/pidfile.h`).
 */
export async function readPostmasterFile(
  folder: DataFolder,
): Promise<{ readonly pid: number; readonly ready: boolean } | undefined> {
  const text = await readFile(fileOf(folder), 'utf8').catch(() => undefined);
  const lines = text?.split('\n') ?? [];
  const pid = Number(lines[0]);
  if (!Number.isInteger(pid) || pid <= 0) return undefined;
  return { pid, ready: lines[7]?.trim() === 'ready' };
}

/**
 * Ends a server that outlived the process that started it, and removes the file of one that died.
 * The caller has made sure that no living process of ours owns the folder.
 *
 * @returns what was found.
 * @throws EmbeddedPostgresError `did-not-stop`.
 */
export async function endStaleServer(folder: DataFolder): Promise<'nothing' | 'ended' | 'removed'> {
  const found = await readPostmasterFile(folder);
  if (found === undefined) return 'nothing';
  const commandLine = await commandLineOf(found.pid);
  if (commandLine?.includes(folder.cluster) === true) {
    await endServer(found.pid);
    return 'ended';
  }
  // The number may belong to another program by now; Postgres itself would refuse to start then.
  await rm(fileOf(folder), { force: true });
  return 'removed';
}

/**
 * Shuts a server down: fast first (clients are disconnected, everything is written), then at once
 * (it recovers at the next start; nothing committed is lost).
 *
 * @throws EmbeddedPostgresError `did-not-stop`.
 */
export async function endServer(pid: number): Promise<void> {
  signal(pid, 'SIGINT');
  if (await waitUntilGone(pid, FAST_SHUTDOWN_MS)) return;
  signal(pid, 'SIGQUIT');
  if (await waitUntilGone(pid, IMMEDIATE_SHUTDOWN_MS)) return;
  throw new EmbeddedPostgresError('did-not-stop', `Postgres (process ${pid}) does not end.`);
}

function fileOf(folder: DataFolder): string {
  return path.join(folder.cluster, 'postmaster.pid');
}
