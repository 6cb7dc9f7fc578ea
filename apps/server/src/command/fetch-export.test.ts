import type { ExportJson, NewExportJson } from '@duskline/contract';
import { createHash, randomBytes } from 'node:crypto';
import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { createServer, type IncomingMessage, type Server, type ServerResponse } from 'node:http';
import type { AddressInfo } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import type { CommandContext } from './command.ts';
import { exportCommand } from './export-command.ts';
import { runCommand } from './run-command.ts';

const folder = mkdtempSync(join(tmpdir(), 'duskline-fetch-'));
const content = randomBytes(200_000);
const digest = createHash('sha256').update(content).digest('hex');
const TOKEN = 'dl_rx_test';

/** A server that keeps to the contract of exports, and breaks downloads as a test says. */
const server = {
  asked: [] as string[],
  ranges: [] as (string | undefined)[],
  /** Bytes after which the next answers are cut. */
  cuts: [] as number[],
  sent: content,
  begun: 0,
};
let http: Server;
let url = '';

function job(id: number, query: NewExportJson): ExportJson {
  return {
    id,
    state: 'done',
    by: 'analyst',
    query,
    version: 1,
    madeAt: '2026-11-26T12:00:00Z',
    finishedAt: '2026-11-26T12:00:01Z',
    expiresAt: '2026-12-10T12:00:00Z',
    fileName: 'x.zip',
    citation: `Export ${id}.`,
    progress: null,
    rows: 10,
    bytes: content.length,
    sha256: digest,
    note: null,
  };
}

function sendFile(request: IncomingMessage, response: ServerResponse): void {
  const { range } = request.headers;
  server.ranges.push(range);
  const from = range === undefined ? 0 : Number(/^bytes=(\d+)-$/.exec(range)?.[1]);
  if (range !== undefined && request.headers['if-range'] !== `"${digest}"`)
    throw new Error('A range without the tag of the file it goes on with.');
  const piece = server.sent.subarray(from);
  response.writeHead(range === undefined ? 200 : 206, { 'content-length': piece.length });
  const cut = server.cuts.shift();
  if (cut === undefined) response.end(piece);
  else response.write(piece.subarray(0, cut), () => setTimeout(() => response.destroy(), 50));
}

beforeAll(async () => {
  http = createServer((request, response) => {
    expect(request.headers.authorization).toBe(`Bearer ${TOKEN}`);
    const path = (request.url ?? '').replace('/api/v1/exports', '');
    const id = Number(path.split('/')[1] ?? 0);
    if (path.endsWith('/file')) return sendFile(request, response);
    const say = (one: ExportJson): void => {
      response.setHeader('content-type', 'application/json');
      response.end(JSON.stringify(one));
    };
    if (request.method === 'GET') return say(job(id, { from: '', to: '' }));
    let text = '';
    request.on('data', (chunk: Buffer) => (text += chunk.toString()));
    request.on('end', () => {
      server.asked.push(text);
      server.begun += 1;
      say(job(server.begun, JSON.parse(text) as NewExportJson));
    });
  }).listen(0, '127.0.0.1');
  await new Promise((resolve) => http.once('listening', resolve));
  url = `http://127.0.0.1:${(http.address() as AddressInfo).port}`;
});
afterAll(() => {
  http.close();
  rmSync(folder, { recursive: true, force: true });
});
beforeEach(() => {
  Object.assign(server, { asked: [], ranges: [], cuts: [], sent: content });
  for (const name of readdirSync(folder)) rmSync(join(folder, name), { recursive: true });
});

const notes: string[] = [];
function run(args: readonly string[], signal = new AbortController().signal): Promise<number> {
  notes.length = 0;
  const context: CommandContext = {
    terminal: { out: () => undefined, note: (line) => notes.push(line), progress: () => undefined },
    environment: { DUSKLINE_URL: url, DUSKLINE_TOKEN: TOKEN },
    signal,
  };
  return runCommand({ export: exportCommand }, ['export', ...args], context);
}
const out = join(folder, 'week.zip');
const week = ['--last', '7d', '--out', out];

describe('duskline export', () => {
  it('fetches the file, compares it, and leaves nothing else', async () => {
    expect(await run(week)).toBe(0);
    expect(readFileSync(out).equals(content)).toBe(true);
    expect(readdirSync(folder)).toEqual(['week.zip']);
    expect(server.ranges).toEqual([undefined]);
  });

  it('goes on with the same file where the line broke', async () => {
    server.cuts = [70_000];
    expect(await run(week)).toBe(0);
    expect(readFileSync(out).equals(content)).toBe(true);
    expect(server.asked).toHaveLength(1);
    expect(server.ranges[0]).toBeUndefined();
    expect(server.ranges[1]).toMatch(/^bytes=[1-9]\d*-$/);
  });

  it('goes on when the command is run again, and until then names no file as whole', async () => {
    server.cuts = [70_000];
    const stop = new AbortController();
    const waiting = run(week, stop.signal);
    await expect
      .poll(() => existsSync(`${out}.part`) && readFileSync(`${out}.part`).length)
      .toBe(70_000);
    stop.abort();
    expect(await waiting).toBe(130);
    expect(readdirSync(folder).sort()).toEqual(['week.zip.export.json', 'week.zip.part']);
    expect(await run(week)).toBe(0);
    expect(readFileSync(out).equals(content)).toBe(true);
    // It was made once; the second run asked for the rest.
    expect(server.asked).toHaveLength(1);
    expect(server.ranges.at(-1)).toBe('bytes=70000-');
    expect(readdirSync(folder)).toEqual(['week.zip']);
  });

  it('does not go on with another week that is as long', async () => {
    server.cuts = [70_000];
    const stop = new AbortController();
    const days = (from: string, to: string) => ['--from', from, '--to', to, '--out', out];
    const waiting = run(days('2026-11-01', '2026-11-08'), stop.signal);
    await expect.poll(() => existsSync(`${out}.part`)).toBe(true);
    stop.abort();
    await waiting;
    expect(await run(days('2026-10-01', '2026-10-08'))).toBe(0);
    expect(server.asked.map((text) => (JSON.parse(text) as NewExportJson).from)).toEqual([
      '2026-11-01T00:00:00.000Z',
      '2026-10-01T00:00:00.000Z',
    ]);
    expect(readFileSync(out).equals(content)).toBe(true);
  });

  it('throws away what has not the right checksum, and says so', async () => {
    server.sent = Buffer.from(content);
    server.sent[100_000]! ^= 1;
    expect(await run(week)).toBe(1);
    expect(notes.join('\n')).toContain('checksum');
    expect(existsSync(out)).toBe(false);
    expect(existsSync(`${out}.part`)).toBe(false);
  });

  it('ends with an error when it gives up on a line that keeps breaking', async () => {
    server.cuts = [10, 10, 10, 10, 10, 10, 10, 10];
    expect(await run(week)).toBe(1);
    expect(existsSync(out)).toBe(false);
    expect(notes.join('\n')).toContain('go on');
  }, 30_000);
});
