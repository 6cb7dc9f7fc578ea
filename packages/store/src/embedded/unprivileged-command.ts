import { execFile } from 'node:child_process';
import { chown, readdir, stat } from 'node:fs/promises';
import { userInfo } from 'node:os';
import path from 'node:path';
import { promisify } from 'node:util';
import { EmbeddedPostgresError } from './embedded-postgres-error.ts';

const run = promisify(execFile);

/** Turns a program and its arguments into the command that runs it without root's rights. */
export interface UnprivilegedCommand {
  /** Said in the log. */
  readonly account: string;
  readonly prefix: readonly string[];
}

/**
 * Finds a way to run Postgres here: it refuses to run as root, and its files belong to us.
 *
 * As root a user namespace comes first: Postgres sees an ordinary user while every file stays ours,
 * no account is made, and folders only root can enter keep working. Where namespaces are switched
 * off an existing account is used, and the data folder is handed to it. On Linux the command also
 * asks the kernel to send SIGINT (a clean fast shutdown) when we die.
 *
 * @param program the Postgres program that has to be reachable.
 * @param dataDir the folder that has to be writable.
 * @throws EmbeddedPostgresError `no-account`.
 */
export async function findUnprivilegedCommand(
  program: string,
  dataDir: string,
): Promise<UnprivilegedCommand> {
  if (process.platform !== 'linux') return { account: 'ourselves', prefix: [] };
  const followParent = (await works(['setpriv', '--pdeathsig', 'INT'], program, dataDir))
    ? ['setpriv', '--pdeathsig', 'INT']
    : [];
  const isRoot = process.getuid?.() === 0;
  if (!isRoot && hasAccountName()) return { account: 'ourselves', prefix: followParent };

  const namespace = ['unshare', '--user', '--map-user=1', '--map-group=1', '--', ...followParent];
  if (await works(namespace, program, dataDir)) {
    return { account: 'an ordinary user in a user namespace', prefix: namespace };
  }
  if (isRoot) {
    for (const name of ['postgres', 'nobody']) {
      const found = await accountCommand(name, program, dataDir);
      if (found !== undefined) return found;
    }
  }
  throw new EmbeddedPostgresError(
    'no-account',
    'Postgres does not run as root, user namespaces are switched off here, and neither the account ' +
      `"postgres" nor "nobody" can reach ${program} and ${dataDir}. ` +
      'Start as an ordinary user, or give the URL of a Postgres server of your own.',
  );
}

async function accountCommand(
  name: string,
  program: string,
  dataDir: string,
): Promise<UnprivilegedCommand | undefined> {
  const uid = await idOf(name, '-u');
  const gid = await idOf(name, '-g');
  if (uid === undefined || gid === undefined) return undefined;
  const prefix = [
    ...['setpriv', `--reuid=${uid}`, `--regid=${gid}`, '--clear-groups', '--no-new-privs'],
    ...['--pdeathsig', 'INT'],
  ];
  // Only a folder of ours is handed over, never one that belongs to somebody else.
  const ours = (await stat(dataDir)).uid === 0;
  if (ours) await chownTree(dataDir, uid, gid);
  if (await works(prefix, program, dataDir)) return { account: `the account ${name}`, prefix };
  if (ours) await chownTree(dataDir, 0, 0);
  return undefined;
}

async function works(
  prefix: readonly string[],
  program: string,
  dataDir: string,
): Promise<boolean> {
  const [command = 'sh', ...rest] = [...prefix, 'sh'];
  const check = ['-c', 'test -x "$1" && test -w "$2"', 'sh', program, dataDir];
  return run(command, [...rest, ...check]).then(
    () => true,
    () => false,
  );
}

async function idOf(name: string, flag: '-u' | '-g'): Promise<number | undefined> {
  return run('id', [flag, name]).then(
    ({ stdout }) => Number(stdout.trim()),
    () => undefined,
  );
}

async function chownTree(folder: string, uid: number, gid: number): Promise<void> {
  await chown(folder, uid, gid);
  for (const entry of await readdir(folder, { withFileTypes: true })) {
    const child = path.join(folder, entry.name);
    if (entry.isDirectory()) await chownTree(child, uid, gid);
    else if (entry.isFile()) await chown(child, uid, gid);
  }
}

/** initdb asks the account database for our name and gives up without one. */
function hasAccountName(): boolean {
  try {
    return userInfo().username !== '';
  } catch {
    return false;
  }
}
