import { pbkdf2 as pbkdf2WithCallback, randomBytes } from 'node:crypto';
import { readFile, rename, writeFile } from 'node:fs/promises';
import { promisify } from 'node:util';

const pbkdf2 = promisify(pbkdf2WithCallback);

/** As `mosquitto_passwd` 2.0 does it. More rounds would add nothing to a secret of 256 random bits. */
const ROUNDS = 101;
const SALT_BYTES = 12;
const HASH_BYTES = 64;
const OWNER_ONLY = 0o600;

/**
 * Does the name belong to the server's own consumers? No node may bear such a name: with Mosquitto it would be given
 * their rights.
 */
export const isServerName = (name: string): boolean => name === 'ingest' || /^ingest-/.test(name);

/**
 * One line of a Mosquitto password file: `name:$7$rounds$salt$hash`, PBKDF2 (RFC 8018) with HMAC-SHA-512, salt and hash in
 * base64: the format `mosquitto_passwd` 2.0 writes.
 *
 * @param salt random when absent
 */
export async function mosquittoPasswordLine(
  name: string,
  secret: string,
  salt: Uint8Array = randomBytes(SALT_BYTES),
): Promise<string> {
  if (!/^[A-Za-z0-9-]+$/.test(name)) {
    throw new RangeError(`A name in a password file has only letters, digits and "-": ${name}`);
  }
  const hash = await pbkdf2(secret, salt, ROUNDS, HASH_BYTES, 'sha512');
  return `${name}:$7$${ROUNDS}$${Buffer.from(salt).toString('base64')}$${hash.toString('base64')}`;
}

/**
 * Puts a name and its secret into a password file, in place of the line that was there for it. The file is made when
 * there is none, and is whole at every moment.
 */
export async function writeMosquittoPassword(
  file: string,
  name: string,
  secret: string,
): Promise<void> {
  const line = await mosquittoPasswordLine(name, secret);
  await change(file, (lines) => [...lines.filter((other) => !isLineOf(name, other)), line]);
}

/** Takes a name out of a password file: Mosquitto ends its connection when it next reads the file. */
export async function removeMosquittoPassword(file: string, name: string): Promise<void> {
  await change(file, (lines) => lines.filter((line) => !isLineOf(name, line)));
}

const isLineOf = (name: string, line: string): boolean => line.startsWith(`${name}:`);

const underWay = new Map<string, Promise<void>>();

/** One change of a file at a time, so that two nodes made at once are both in it. */
function change(
  file: string,
  rewrite: (lines: readonly string[]) => readonly string[],
): Promise<void> {
  const turn = (underWay.get(file) ?? Promise.resolve()).then(async () => {
    const before = await readLines(file);
    const fresh = `${file}.new`;
    const text = rewrite(before).map((line) => `${line}\n`);
    await writeFile(fresh, text.join(''), { mode: OWNER_ONLY });
    await rename(fresh, file);
  });
  const settled = turn.catch(() => undefined);
  underWay.set(file, settled);
  void settled.then(() => {
    if (underWay.get(file) === settled) underWay.delete(file);
  });
  return turn;
}

async function readLines(file: string): Promise<readonly string[]> {
  try {
    const text = await readFile(file, 'utf8');
    return text.split('\n').filter((line) => line !== '');
  } catch (cause) {
    if ((cause as NodeJS.ErrnoException).code === 'ENOENT') return [];
    throw cause;
  }
}
