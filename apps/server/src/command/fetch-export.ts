import type { ExportJson, NewExportJson } from '@duskline/contract';
import { createHash } from 'node:crypto';
import { createReadStream, createWriteStream } from 'node:fs';
import { readFile, rename, rm, stat, writeFile } from 'node:fs/promises';
import type { Writable } from 'node:stream';
import { Readable } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import { setTimeout as sleep } from 'node:timers/promises';
import type { AskServer } from './ask-server.ts';
import { CommandProblem } from './command-problem.ts';
import { bar, type Terminal } from './terminal.ts';

const LOOK_EVERY_MS = 500;
const TRIES = 5;

export interface Fetching {
  readonly query: NewExportJson;
  /** The same for the same command line, also a minute later: “the last seven days” are other instants then. */
  readonly said: string;
  readonly out: string;
  readonly url: string;
  readonly token: string;
}

interface FetchDeps {
  readonly ask: AskServer;
  readonly terminal: Terminal;
  readonly signal: AbortSignal;
}

/**
 * Has the export made and fetches it. Until it is whole it lies beside the file that was named, with a note of its number, so
 * that running the command again goes on with it.
 *
 * @throws CommandProblem
 */
export async function fetchExport(fetching: Fetching, deps: FetchDeps): Promise<void> {
  const { out } = fetching;
  const { terminal, signal } = deps;
  const piped = out === '-';
  const job = await made(fetching, deps, piped);
  const part = `${out}.part`;
  if (piped) {
    await download(job, 0, process.stdout, fetching, deps).catch((cause: unknown) => {
      throw signal.aborted
        ? new CommandProblem(130, 'Stopped: what came is not whole.')
        : cut(cause);
    });
    return;
  }
  for (let tries = 1; ; tries += 1) {
    try {
      const from = await sizeOf(part);
      if (from < (job.bytes ?? 0))
        await download(job, from, createWriteStream(part, { flags: 'a' }), fetching, deps);
      break;
    } catch (cause) {
      if (signal.aborted) throw stoppedHere();
      if (cause instanceof CommandProblem || tries >= TRIES) throw broken(cause);
      terminal.note(`The download broke; it goes on (${tries} of ${TRIES}).`);
      await sleep(1000 * tries, undefined, { signal }).catch(() => undefined);
    }
  }
  if ((await sha256(part)) !== job.sha256) {
    await rm(part, { force: true });
    throw new CommandProblem(1, 'The checksum is not right: what came was thrown away. Try again.');
  }
  await rename(part, out);
  await rm(note(out), { force: true });
  terminal.out(
    `${out}: ${(job.rows ?? 0).toLocaleString('en-GB')} rows, ${((job.bytes ?? 0) / 1e6).toFixed(1)} MB, sha-256 ${job.sha256 ?? ''}`,
  );
  terminal.note(job.citation);
}

const note = (out: string): string => `${out}.export.json`;
const stoppedHere = (): CommandProblem =>
  new CommandProblem(130, 'Stopped. Run the same command again to go on.');
const cut = (cause: unknown): CommandProblem =>
  cause instanceof CommandProblem
    ? cause
    : new CommandProblem(1, 'The download broke: what came is not whole. Try again.', { cause });
const broken = (cause: unknown): CommandProblem =>
  cause instanceof CommandProblem
    ? cause
    : new CommandProblem(1, 'The download broke. Run the same command again to go on.', { cause });

/** The export, done: the one of an earlier run of the same command, or a new one. */
async function made(fetching: Fetching, deps: FetchDeps, piped: boolean): Promise<ExportJson> {
  const { query, said, out, url } = fetching;
  const { ask, terminal, signal } = deps;
  let job = piped ? undefined : await earlier(fetching, ask);
  if (job === undefined) {
    if (!piped) await rm(`${out}.part`, { force: true });
    job = await ask<ExportJson>('POST', '/exports', query);
    if (!piped) await writeFile(note(out), JSON.stringify({ url, said, id: job.id }));
  } else terminal.note(`Going on with export ${job.id}.`);
  while (job.state === 'running') {
    const { rows, ratio } = job.progress ?? { rows: 0, ratio: 0 };
    terminal.progress(bar(ratio, `being made, ${rows.toLocaleString('en-GB')} rows`));
    try {
      await sleep(LOOK_EVERY_MS, undefined, { signal });
    } catch {
      await ask('DELETE', `/exports/${job.id}`).catch(() => undefined);
      if (!piped) await rm(note(out), { force: true });
      throw new CommandProblem(130, 'Stopped; the server makes it no longer.');
    }
    job = await ask<ExportJson>('GET', `/exports/${job.id}`);
  }
  if (job.state !== 'done') {
    if (!piped) await rm(note(out), { force: true });
    throw new CommandProblem(1, job.note ?? 'The export is no longer there.');
  }
  return job;
}

/** An export that this command began before, if the same was asked for in the same words. */
async function earlier(
  { said, out, url }: Fetching,
  ask: AskServer,
): Promise<ExportJson | undefined> {
  const text = await readFile(note(out), 'utf8').catch(() => undefined);
  if (text === undefined) return undefined;
  try {
    const before = JSON.parse(text) as { url: string; said: string; id: number };
    if (before.url !== url || before.said !== said) return undefined;
    const job = await ask<ExportJson>('GET', `/exports/${before.id}`);
    return job.state === 'running' || job.state === 'done' ? job : undefined;
  } catch {
    return undefined;
  }
}

async function download(
  job: ExportJson,
  from: number,
  out: NodeJS.WritableStream,
  { url, token }: Fetching,
  { terminal, signal }: FetchDeps,
): Promise<void> {
  const answer = await fetch(`${url.replace(/\/+$/, '')}/api/v1/exports/${job.id}/file`, {
    redirect: 'error',
    signal,
    headers: {
      authorization: `Bearer ${token}`,
      ...(from === 0 ? {} : { range: `bytes=${from}-`, 'if-range': `"${job.sha256 ?? ''}"` }),
    },
  });
  if (answer.status !== (from === 0 ? 200 : 206) || answer.body === null)
    throw new CommandProblem(1, `The server answered ${answer.status} instead of the file.`);
  const bytes = job.bytes ?? 0;
  let here = from;
  const hash = createHash('sha256');
  await pipeline(
    Readable.fromWeb(answer.body),
    async function* (chunks: AsyncIterable<Uint8Array>) {
      for await (const chunk of chunks) {
        here += chunk.length;
        hash.update(chunk);
        terminal.progress(bar(bytes === 0 ? 1 : here / bytes, `${(here / 1e6).toFixed(1)} MB`));
        yield chunk;
      }
    },
    out as Writable,
    { end: out !== process.stdout },
  );
  if (here !== bytes) throw new Error('The download ended early.');
  // What goes on from an earlier piece is compared as a whole, on disk.
  if (from === 0 && hash.digest('hex') !== job.sha256)
    throw new Error('The checksum is not right.');
}

async function sizeOf(path: string): Promise<number> {
  return (await stat(path).catch(() => undefined))?.size ?? 0;
}

async function sha256(path: string): Promise<string> {
  const hash = createHash('sha256');
  for await (const chunk of createReadStream(path)) hash.update(chunk as Uint8Array);
  return hash.digest('hex');
}
