import {
  closeSync,
  mkdtempSync,
  openSync,
  readFileSync,
  rmSync,
  statSync,
  writeSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { migrateStore, openStore, startEmbeddedPostgres, type Store } from '@duskline/store';
import { pino } from 'pino';
import { createCardDesk } from '../../apps/server/src/card/card-desk.ts';
import { makeBenchNodes, type BenchNode } from './intake-rate.ts';

export interface CardFigures {
  readonly lines: number;
  readonly megabytes: number;
  readonly readSeconds: number;
  readonly storeSeconds: number;
  readonly againSeconds: number;
  readonly filled: number;
  readonly here: number;
  /** Above what the process had before, at its highest. */
  readonly megabytesRss: number;
}

const COLUMNS =
  'time;batt_v [V];batt_i [mA];charge [%];panel_v;panel_i [mA];panel_w;load_w;air_temp [°C];rel_hum;air_press;rain [mm];box_temp';

/** A card of so many lines of twelve readings, a line every 30 s, in local time with decimal commas. */
function writeCard(path: string, lines: number, startMs: number): void {
  const file = openSync(path, 'w');
  let text = `${COLUMNS}\r\n`;
  for (let i = 0; i < lines; i += 1) {
    const at = new Date(startMs + i * 30_000).toISOString().replace('T', ' ').slice(0, 19);
    const wave = Math.sin(i / 460);
    const cells = [
      12.8 + wave / 4,
      300 * wave,
      60 + 20 * wave,
      18 + wave,
      400 + 300 * wave,
      7 + 6 * wave,
      1.1 + wave / 9,
      8 + 6 * wave,
      80 - 9 * wave,
      1003 + wave,
      0.2 * (i % 7 === 0 ? 1 : 0),
      12 + 7 * wave,
    ];
    text += `${at};${cells.map((value) => value.toFixed(2).replace('.', ',')).join(';')}\r\n`;
    if (text.length > 1_000_000) {
      writeSync(file, text);
      text = '';
    }
  }
  writeSync(file, text);
  closeSync(file);
}

/** Brings a card of a million lines through the desk of the server: read and understood, stored, and brought a second time. */
export async function measureCard(
  store: Store,
  node: BenchNode,
  { lines = 1_000_000 }: { readonly lines?: number } = {},
): Promise<CardFigures> {
  const folder = mkdtempSync(join(tmpdir(), 'duskline-card-'));
  const path = join(folder, 'card.csv');
  writeCard(path, lines, Date.now() - lines * 30_000 - 86_400_000);
  const { size } = statSync(path);
  const desk = createCardDesk({
    store,
    folder: join(folder, 'cards'),
    now: () => Date.now(),
    log: pino({ level: 'error' }),
    onNews: () => undefined,
  });
  const fieldNode = await store.nodes.find(node.id);
  if (fieldNode === undefined) throw new Error('The node of the bench is gone.');
  let highest = 0;
  const before = process.memoryUsage.rss();
  const watch = setInterval(() => (highest = Math.max(highest, process.memoryUsage.rss())), 200);

  async function through(): Promise<{
    read: number;
    stored: number;
    filled: number;
    here: number;
  }> {
    const { id } = await desk.open({
      node: fieldNode!,
      by: 'bench',
      files: [{ name: 'card.csv', bytes: size }],
    });
    const bytes = readFileSync(path);
    for (let offset = 0; offset < size; offset += 4_194_304)
      await desk.bring(id, { place: 0, offset, bytes: bytes.subarray(offset, offset + 4_194_304) });
    const until = async (stage: string): Promise<number> => {
      const startedMs = performance.now();
      for (;;) {
        const now = await desk.find(id);
        if (now?.stage === stage) return (performance.now() - startedMs) / 1000;
        if (now?.stage === 'stopped' || now?.stage === 'refused')
          throw new Error(now.note ?? 'stopped');
        await sleep(50);
      }
    };
    await desk.read(id, {});
    const read = await until('ready');
    await desk.store(id);
    const stored = await until('done');
    const end = await desk.find(id);
    return { read, stored, filled: end?.counts.filled ?? 0, here: end?.counts.here ?? 0 };
  }
  try {
    const first = await through();
    const again = await through();
    return {
      lines,
      megabytes: size / 1e6,
      readSeconds: first.read,
      storeSeconds: first.stored,
      againSeconds: again.read + again.stored,
      filled: first.filled,
      here: again.here,
      megabytesRss: (highest - before) / 1e6,
    };
  } finally {
    clearInterval(watch);
    rmSync(folder, { recursive: true, force: true });
  }
}

/** The bench of cards, with a database of its own. */
export async function benchCard(lines: number) {
  const folder = mkdtempSync(join(tmpdir(), 'duskline-bench-'));
  const database = await startEmbeddedPostgres({ dataDir: folder });
  try {
    await migrateStore(database.url);
    const store = await openStore({ url: database.url });
    try {
      const [node] = await makeBenchNodes(store, 1);
      if (node === undefined) throw new Error('No node was made.');
      const figures = await measureCard(store, node, { lines });
      const total = figures.readSeconds + figures.storeSeconds;
      return {
        report: { bench: 'card', ...figures },
        sentences: [
          `card, ${lines.toLocaleString('en-GB')} lines of 12 readings (${figures.megabytes.toFixed(0)} MB): understood in ${figures.readSeconds.toFixed(1)} s, stored in ${figures.storeSeconds.toFixed(1)} s, together ${total.toFixed(1)} s; +${figures.megabytesRss.toFixed(0)} MB; brought again, nothing new, in ${figures.againSeconds.toFixed(1)} s`,
        ],
      };
    } finally {
      await store.close();
    }
  } finally {
    await database.stop();
    rmSync(folder, { recursive: true, force: true });
  }
}
