import type {
  CardDoubtJson,
  CardImportJson,
  CardPieceJson,
  CardPreviewJson,
  CardSettingsJson,
  NewCardImportJson,
} from '@duskline/contract';
import { open, stat } from 'node:fs/promises';
import { basename } from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import type { AskServer } from './ask-server.ts';
import { CommandProblem } from './command-problem.ts';
import { bar, type Terminal } from './terminal.ts';

const PIECE_BYTES = 4 * 1024 * 1024;
const ASK_EVERY_MS = 300;

export interface ImportOrder {
  readonly node: string;
  readonly files: readonly string[];
  readonly settings: CardSettingsJson;
  readonly dryRun: boolean;
}

interface Tools {
  readonly ask: AskServer;
  readonly terminal: Terminal;
  readonly signal: AbortSignal;
}

const count = (value: number): string => value.toLocaleString('en-GB');

/**
 * Brings files, has them read, says how they were understood, and has them stored.
 *
 * @throws CommandProblem when a file cannot be read, the server says no, or a doubt must be settled first (3)
 */
export async function importCards(order: ImportOrder, tools: Tools): Promise<void> {
  const { ask, terminal, signal } = tools;
  const files = await Promise.all(
    order.files.map(async (path) => ({ name: basename(path), bytes: await sizeOf(path) })),
  );
  const request: NewCardImportJson = { node: order.node, files };
  const { id } = await ask<CardImportJson>('POST', '/card-imports', request);
  const path = `/card-imports/${id}`;
  const onStop = (): void => void ask('POST', `${path}/stop`).catch(() => undefined);
  signal.addEventListener('abort', onStop, { once: true });
  let isStored = false;
  try {
    for (const [place, file] of order.files.entries())
      await bring(file, `${path}/files/${place}`, tools);
    await ask('PUT', `${path}/settings`, order.settings);
    const read = await follow(path, 'reading', tools);
    if (read.preview === null)
      throw new CommandProblem(1, read.note ?? 'The files could not be read.');
    sayPreview(read.preview, terminal);
    const open = read.preview.doubts.filter(({ blocking }) => blocking);
    if (open.length > 0) throw new CommandProblem(3, 'Nothing was stored: settle the above first.');
    if (order.dryRun) {
      terminal.out('Dry run: nothing was stored.');
      return;
    }
    await ask('POST', `${path}/store`);
    isStored = true;
    const done = await follow(path, 'storing', tools);
    sayCounts(done, terminal);
    if (done.stage !== 'done') throw new CommandProblem(1, done.note ?? 'It did not end well.');
  } finally {
    signal.removeEventListener('abort', onStop);
    if (!isStored) await ask('DELETE', path).catch(() => undefined);
  }
}

async function sizeOf(path: string): Promise<number> {
  try {
    const found = await stat(path);
    if (found.isFile()) return found.size;
  } catch (cause) {
    throw new CommandProblem(2, `There is no file ${path}.`, { cause });
  }
  throw new CommandProblem(2, `${path} is no file.`);
}

async function bring(file: string, path: string, { ask, terminal, signal }: Tools): Promise<void> {
  const handle = await open(file, 'r');
  try {
    const { size } = await handle.stat();
    let offset = 0;
    while (offset < size) {
      stopIf(signal);
      const piece = Buffer.alloc(Math.min(PIECE_BYTES, size - offset));
      const { bytesRead } = await handle.read(piece, 0, piece.length, offset);
      if (bytesRead === 0) throw new CommandProblem(1, `${file} became shorter while it was read.`);
      const { received } = await ask<CardPieceJson>(
        'PUT',
        `${path}?offset=${offset}`,
        new Uint8Array(piece.subarray(0, bytesRead)),
      );
      offset = received;
      terminal.progress(bar(offset / size, `bringing ${basename(file)}`));
    }
  } finally {
    await handle.close();
  }
}

async function follow(
  path: string,
  stage: 'reading' | 'storing',
  { ask, terminal, signal }: Tools,
): Promise<CardImportJson> {
  for (;;) {
    const now = await ask<CardImportJson>('GET', path);
    if (now.stage !== stage) {
      stopIf(signal);
      return now;
    }
    const { ratio = 0, lines = 0 } = now.progress ?? {};
    terminal.progress(bar(ratio, `${stage}, ${count(lines)} lines`));
    await sleep(ASK_EVERY_MS);
  }
}

function stopIf(signal: AbortSignal): void {
  if (signal.aborted)
    throw new CommandProblem(
      130,
      'Stopped. What was stored stays; bring the same files again to go on.',
    );
}

function sayPreview(preview: CardPreviewJson, { out, note }: Terminal): void {
  for (const file of preview.files) {
    const marks =
      file.delimiter === '\t' ? 'a tab' : file.delimiter === ' ' ? 'blanks' : `“${file.delimiter}”`;
    out(
      `${file.name}: ${count(file.samples)} samples in ${count(file.lines)} lines; ${marks} between cells, decimal “${file.decimal}”, zone ${file.zone}`,
    );
    for (const { heading, use, metric, unit } of file.columns)
      out(`  ${heading} → ${metric === null ? use : `${metric}${unit ? ` in ${unit}` : ''}`}`);
  }
  if (preview.fromAt !== null) out(`From ${preview.fromAt} to ${preview.toAt}.`);
  for (const row of preview.rows.slice(0, 3))
    out(
      `  ${row.at}  ${row.readings.map(({ metric, value, unit }) => `${metric} ${value} ${unit}`.trim()).join(', ')}`,
    );
  for (const { sentence, blocking, settle, examples } of preview.doubts) {
    note(`${blocking ? 'Must be settled' : 'Doubt'}: ${sentence}`);
    if (settle !== null) note(`  settle it with ${settledBy(settle)}`);
    for (const { line, text } of examples.slice(0, 2)) note(`  line ${line}: ${text}`);
  }
}

/** With `=`, because a number may begin with a minus sign. */
function settledBy({ setting, choices }: NonNullable<CardDoubtJson['settle']>): string {
  const option =
    setting === 'realCodes'
      ? 'real-code'
      : setting.replace(/[A-Z]/g, (letter) => `-${letter.toLowerCase()}`);
  return choices
    .filter(({ value }) => !value.startsWith('not '))
    .map(({ value, label }) => `--${option}=${value} (${label})`)
    .join(' or ');
}

function sayCounts({ id, counts }: CardImportJson, { out, note }: Terminal): void {
  out(
    `${count(counts.filled)} readings are new, ${count(counts.here)} were here already, ${count(counts.repeated)} were said twice in the files.`,
  );
  if (counts.conflicts > 0)
    note(
      `${count(counts.conflicts)} readings differ from what is stored; that is kept. GET /api/v1/card-imports/${id}/conflicts lists both.`,
    );
}
