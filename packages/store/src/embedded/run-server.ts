import { spawn, type ChildProcess } from 'node:child_process';
import { once } from 'node:events';
import { open, stat } from 'node:fs/promises';
import { setTimeout as sleep } from 'node:timers/promises';
import { logTail, type DataFolder } from './data-folder.ts';
import { EmbeddedPostgresError } from './embedded-postgres-error.ts';
import { readPostmasterFile } from './postmaster-file.ts';

const READY_WITHIN_MS = 120_000;
const RETRY_WITHIN_MS = 15_000;

/** One running Postgres server process. */
export interface ServerProcess {
  readonly pid: number;
  /** Settles when the process has ended; says how. */
  readonly ended: Promise<string>;
}

export interface ServerStart {
  readonly folder: DataFolder;
  /** The command with its arguments, `settings` not included. */
  readonly command: readonly string[];
  readonly settings: Readonly<Record<string, string>>;
}

/**
 * Starts the server and waits until it takes connections, recovery after a crash included.
 *
 * @throws EmbeddedPostgresError `port-taken`, `did-not-start` with the end of the server's log.
 */
export async function runServer(start: ServerStart): Promise<ServerProcess> {
  const deadline = Date.now() + RETRY_WITHIN_MS;
  for (;;) {
    const logFrom = await stat(start.folder.logFile).then(
      (found) => found.size,
      () => 0,
    );
    const server = await launch(start);
    if (await becomesReady(server, start.folder)) return server;
    const said = await logTail(start.folder, logFrom);
    if (/Address already in use/i.test(said)) {
      throw new EmbeddedPostgresError(
        'port-taken',
        `Port ${start.settings['port'] ?? '?'} on 127.0.0.1 is taken by another program.`,
      );
    }
    // Server processes of a killed postmaster need a moment to notice.
    const leftOvers = /shared memory block|lock file .* already exists/i.test(said);
    if (!leftOvers || Date.now() > deadline) {
      throw new EmbeddedPostgresError('did-not-start', `Postgres did not start:\n${said}`);
    }
    await sleep(200);
  }
}

async function launch(start: ServerStart): Promise<ServerProcess> {
  const settings = Object.entries(start.settings).flatMap(([name, value]) => [
    '-c',
    `${name}=${value}`,
  ]);
  const [program = '', ...args] = [...start.command, ...settings];
  // A file, not a pipe: the server can still write its log when we are gone.
  const log = await open(start.folder.logFile, 'a', 0o600);
  try {
    const child = spawn(program, args, {
      // A process group of its own: Ctrl-C reaches us, and we end the server when we are done.
      detached: true,
      stdio: ['ignore', log.fd, log.fd],
      env: { ...process.env, LC_ALL: 'C' },
    });
    await spawned(child);
    // The server never keeps our process running; who wants to wait awaits `ended` or stops it.
    child.unref();
    return { pid: child.pid ?? -1, ended: endOf(child) };
  } finally {
    await log.close();
  }
}

async function spawned(child: ChildProcess): Promise<void> {
  try {
    await once(child, 'spawn');
  } catch (error) {
    throw new EmbeddedPostgresError('did-not-start', `Postgres did not start: ${String(error)}`, {
      cause: error,
    });
  }
}

async function endOf(child: ChildProcess): Promise<string> {
  const [exitCode, signalName] = (await once(child, 'exit')) as [number | null, string | null];
  return signalName === null ? `exit code ${exitCode ?? '?'}` : `signal ${signalName}`;
}

async function becomesReady(server: ServerProcess, folder: DataFolder): Promise<boolean> {
  let running = true;
  void server.ended.then(() => (running = false));
  for (const deadline = Date.now() + READY_WITHIN_MS; running && Date.now() < deadline;) {
    const file = await readPostmasterFile(folder);
    // The status alone may be left from a crash: it counts only with the new process id.
    if (file?.pid === server.pid && file.ready) return true;
    await sleep(10);
  }
  return false;
}
