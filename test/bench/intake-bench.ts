import { mkdtempSync, rmSync } from 'node:fs';
import { cpus, tmpdir } from 'node:os';
import { join } from 'node:path';
import { migrateStore, openStore, startEmbeddedPostgres } from '@duskline/store';
import { measureBulk } from './bulk-rate.ts';
import { measureBacklog } from './intake-backlog.ts';
import { makeBenchNodes, measureIntake, type IntakeFigures } from './intake-rate.ts';
import { readSizes } from './intake-sizes.ts';
import { loadMetrics } from './load-shape.ts';

/** Every figure of the intake, with its unit in its name. */
export interface IntakeReport {
  readonly bench: 'intake';
  readonly cores: number;
  readonly processor: string;
  readonly node: string;
  readonly postgres: string;
  /** The backlog was a tenth: three days instead of thirty. */
  readonly quick: boolean;
  readonly readingsPerSecondSingleSampleMessages: number;
  readonly readingsPerSecondBacklogPacks: number;
  readonly readingsPerSecondBulkStatements: number;
  readonly singleToBulkRatio: number;
  readonly packsToBulkRatio: number;
  readonly duplicateReadingsPerSecond: number;
  readonly walBytesPerDuplicateReading: number;
  readonly backlogNodes: number;
  readonly backlogDays: number;
  readonly backlogReadings: number;
  readonly backlogDrainedMinutes: number;
  readonly backlogReadingsPerSecond: number;
  readonly backlogDrainedMinutesFor30Days: number;
  readonly liveMessagesDuringBacklog: number;
  /** From publish until a reader of the database sees it, of nodes on connections of their own. */
  readonly liveLagP50Ms: number;
  readonly liveLagP99Ms: number;
  readonly liveLagMaxMs: number;
  /** Of the nodes whose past goes by the same connection at the same time. */
  readonly liveLagOfSendersP50Ms: number;
  readonly liveLagOfSendersP99Ms: number;
  readonly liveLagOfSendersMaxMs: number;
  readonly serverRssPeakMb: number;
  /** Of the rows of the backlog and the live readings beside it, as they lie when the last is stored. */
  readonly diskBytesPerReading: number;
  readonly heapBytesPerReading: number;
  readonly keyBytesPerReading: number;
  readonly rewrittenSharePct: number;
}

const DAYS = 30;
const DAYS_QUICK = 3;
const MESSAGES_PER_NODE = 3000;

const perSecond = (figures: IntakeFigures) => figures.readings / figures.seconds;

/**
 * Measures the intake. Publishers, broker, intake and Postgres share this machine.
 *
 * @param options.quick a backlog of three days instead of thirty
 */
export async function benchIntake(options: { readonly quick: boolean }): Promise<IntakeReport> {
  const folder = mkdtempSync(join(tmpdir(), 'duskline-bench-'));
  const database = await startEmbeddedPostgres({ dataDir: folder });
  try {
    await migrateStore(database.url);
    const rates = await measureRates(database.url);
    // The bench of the past has the sample table to itself: what lies on disk is then of one kind.
    const before = await readSizes(database.url);
    const store = await openStore({ url: database.url });
    const pastNodes = await makeBenchNodes(store, 20, 'past');
    const freshNodes = await makeBenchNodes(store, 20, 'fresh');
    await store.close();
    const days = options.quick ? DAYS_QUICK : DAYS;
    const backlog = await measureBacklog(database.url, { pastNodes, freshNodes, days });
    const after = await readSizes(database.url);
    const minutes = backlog.seconds / 60;
    const rows = after.samples - before.samples;
    const bytes = after.sampleBytes - before.sampleBytes;
    const keyBytes = after.keyBytes - before.keyBytes;
    const perReading = (of: number) => rounded(of / (rows * loadMetrics.length), 2);
    return {
      bench: 'intake',
      cores: cpus().length,
      processor: cpus()[0]?.model ?? 'unknown',
      node: process.versions.node,
      postgres: after.version,
      quick: options.quick,
      ...rates,
      backlogNodes: pastNodes.length,
      backlogDays: days,
      backlogReadings: backlog.readings,
      backlogDrainedMinutes: rounded(minutes, 2),
      backlogReadingsPerSecond: rounded(backlog.readings / backlog.seconds),
      backlogDrainedMinutesFor30Days: rounded((minutes * DAYS) / days, 2),
      liveMessagesDuringBacklog: backlog.liveMessages,
      liveLagP50Ms: backlog.liveLagMs.p50,
      liveLagP99Ms: backlog.liveLagMs.p99,
      liveLagMaxMs: backlog.liveLagMs.max,
      liveLagOfSendersP50Ms: backlog.liveLagOfSendersMs.p50,
      liveLagOfSendersP99Ms: backlog.liveLagOfSendersMs.p99,
      liveLagOfSendersMaxMs: backlog.liveLagOfSendersMs.max,
      serverRssPeakMb: rounded(backlog.serverRssPeakMb),
      diskBytesPerReading: perReading(bytes),
      heapBytesPerReading: perReading(bytes - keyBytes),
      keyBytesPerReading: perReading(keyBytes),
      rewrittenSharePct: rounded((100 * (after.flagged - before.flagged)) / rows, 2),
    };
  } finally {
    await database.stop();
    rmSync(folder, { recursive: true, force: true });
  }
}

async function measureRates(url: string) {
  const store = await openStore({ url });
  try {
    const nodes = await makeBenchNodes(store, 16);
    const startMs = Math.floor(Date.now() / 1000) * 1000 - 40 * 86_400_000;
    const single = { lane: 'live', samplesPerMessage: 1, inFlight: 60 } as const;
    // A warm-up, so that neither plan caches nor compilers are measured.
    const warm = { ...single, messagesPerNode: 200, startMs: startMs - 86_400_000, boot: 1 };
    await measureIntake(store, nodes, warm);
    const order = { ...single, messagesPerNode: MESSAGES_PER_NODE, startMs, boot: 2 };
    const singles = await measureIntake(store, nodes, order);
    const walBefore = (await readSizes(url)).walBytes;
    const duplicates = await measureIntake(store, nodes, order);
    const walBytes = (await readSizes(url)).walBytes - walBefore;
    const packs = await measureIntake(store, nodes, {
      lane: 'backlog',
      samplesPerMessage: 60,
      messagesPerNode: 120,
      inFlight: 6,
      startMs: startMs + 86_400_000,
      boot: 3,
    });
    const bulk = await measureBulk(url);
    const bulkPerSecond = (bulk.rows * loadMetrics.length) / bulk.seconds;
    return {
      readingsPerSecondSingleSampleMessages: rounded(perSecond(singles)),
      readingsPerSecondBacklogPacks: rounded(perSecond(packs)),
      readingsPerSecondBulkStatements: rounded(bulkPerSecond),
      singleToBulkRatio: rounded(perSecond(singles) / bulkPerSecond, 3),
      packsToBulkRatio: rounded(perSecond(packs) / bulkPerSecond, 3),
      duplicateReadingsPerSecond: rounded(perSecond(duplicates)),
      walBytesPerDuplicateReading: rounded(walBytes / duplicates.readings, 2),
    };
  } finally {
    await store.close();
  }
}

const rounded = (value: number, digits = 0): number => Number(value.toFixed(digits));
