import { existsSync } from 'node:fs';
import { mkdir, open, readFile, rename, rm, stat, unlink, writeFile } from 'node:fs/promises';
import { randomBytes } from 'node:crypto';
import path from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { EmbeddedPostgresError } from './embedded-postgres-error.ts';
import { startMarkOf } from './process-facts.ts';

const LOG_KEPT_BYTES = 2_000_000;
const OWNER_ENDS_WITHIN_MS = 500;

/** What lies in the data folder of an embedded Postgres. */
export interface DataFolder {
  readonly root: string;
  /** Postgres's own folder; absent until initdb has finished. */
  readonly cluster: string;
  readonly logFile: string;
  readonly passwordFile: string;
  readonly ownerFile: string;
}

/** Makes the folder (readable by us alone) when it is missing and trims its log. */
export async function prepareDataFolder(dataDir: string): Promise<DataFolder> {
  const root = path.resolve(dataDir);
  // Only the folder itself is ours alone; folders above it stay open to the account that runs Postgres.
  await mkdir(path.dirname(root), { recursive: true });
  await mkdir(root, { recursive: true, mode: 0o700 });
  const folder = {
    root,
    cluster: path.join(root, 'cluster'),
    logFile: path.join(root, 'postgres.log'),
    passwordFile: path.join(root, 'password'),
    ownerFile: path.join(root, 'owner'),
  };
  const logBytes = await stat(folder.logFile).then(
    (found) => found.size,
    () => 0,
  );
  if (logBytes > LOG_KEPT_BYTES) await rename(folder.logFile, `${folder.logFile}.old`);
  return folder;
}

/** The database password, made once and readable by us alone. */
export async function readOrMakePassword(folder: DataFolder): Promise<string> {
  if (!existsSync(folder.passwordFile)) {
    const draft = `${folder.passwordFile}.${process.pid}`;
    await writeFile(draft, randomBytes(24).toString('base64url'), { mode: 0o600, flush: true });
    await rename(draft, folder.passwordFile);
  }
  return (await readFile(folder.passwordFile, 'utf8')).trim();
}

/**
 * Takes the folder for this process. A claim left by a process that is gone does not count; one that is
 * about to go is given a moment.
 *
 * @throws EmbeddedPostgresError `in-use` when another running process has it.
 */
export async function claimDataFolder(folder: DataFolder): Promise<void> {
  const claim = `${process.pid} ${(await startMarkOf(process.pid)) ?? ''}`;
  let owner: number | undefined;
  for (const deadline = Date.now() + OWNER_ENDS_WITHIN_MS; Date.now() < deadline;) {
    if (await writeNew(folder.ownerFile, claim)) return;
    owner = await livingOwner(folder);
    if (owner === undefined) await rm(folder.ownerFile, { force: true });
    else await sleep(50);
  }
  throw new EmbeddedPostgresError(
    'in-use',
    `The process ${owner ?? '?'} is using the database in ${folder.root}. ` +
      'Stop it first, or give this one a data folder of its own.',
  );
}

async function livingOwner(folder: DataFolder): Promise<number | undefined> {
  const [pidText = '', ...mark] = (await readFile(folder.ownerFile, 'utf8').catch(() => '')).split(
    ' ',
  );
  const pid = Number(pidText);
  if (!Number.isInteger(pid) || pid <= 0) return undefined;
  return (await startMarkOf(pid)) === mark.join(' ') ? pid : undefined;
}

export async function releaseDataFolder(folder: DataFolder): Promise<void> {
  await unlink(folder.ownerFile).catch(() => undefined);
}

/** The last lines of Postgres's log, for an error message. */
export async function logTail(folder: DataFolder, fromByte: number): Promise<string> {
  const text = (await readFile(folder.logFile).catch(() => Buffer.alloc(0))).subarray(fromByte);
  return text.toString('utf8').trim().split('\n').slice(-8).join('\n');
}

async function writeNew(file: string, text: string): Promise<boolean> {
  try {
    const handle = await open(file, 'wx', 0o600);
    await handle.writeFile(text);
    await handle.close();
    return true;
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === 'EEXIST') return false;
    throw error;
  }
}
