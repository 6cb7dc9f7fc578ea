import { mkdtempSync, rmSync } from 'node:fs';
import { cpus, tmpdir } from 'node:os';
import { join } from 'node:path';
import { migrateStore, openStore, startEmbeddedPostgres } from '@duskline/store';
import { measureBulk } from './bulk-rate.ts';
import { makeBenchNodes, measureIntake, type IntakeFigures } from './intake-rate.ts';
import { measureOutlook } from './outlook-rate.ts';

/** Prints figures; asserts nothing. Everything shares this machine: publishers, broker, intake and Postgres. */
const folder = mkdtempSync(join(tmpdir(), 'duskline-bench-'));
const say = (line: string) => process.stdout.write(`${line}\n`);
const perSecond = (figures: IntakeFigures) => figures.readings / figures.seconds;
const round = (value: number) => Math.round(value).toLocaleString('en-GB');

say(
  `${cpus().length} cores, ${cpus()[0]?.model ?? 'unknown processor'}, Node ${process.versions.node}`,
);
const database = await startEmbeddedPostgres({ dataDir: folder });
try {
  await migrateStore(database.url);
  const store = await openStore({ url: database.url });
  const nodes = await makeBenchNodes(store, 16);
  const startMs = Math.floor(Date.now() / 1000) * 1000 - 40 * 86_400_000;
  // A warm-up, so that neither plan caches nor compilers are measured.
  await measureIntake(store, nodes, {
    lane: 'live',
    samplesPerMessage: 1,
    messagesPerNode: 200,
    inFlight: 20,
    startMs: startMs - 86_400_000,
    boot: 1,
  });
  const single = await measureIntake(store, nodes, {
    lane: 'live',
    samplesPerMessage: 1,
    messagesPerNode: 3000,
    inFlight: 60,
    startMs,
    boot: 2,
  });
  const packs = await measureIntake(store, nodes, {
    lane: 'backlog',
    samplesPerMessage: 60,
    messagesPerNode: 120,
    inFlight: 6,
    startMs: startMs + 86_400_000,
    boot: 3,
  });
  await store.close();
  const bulk = await measureBulk(database.url);
  const bulkReadings = (bulk.rows * 12) / bulk.seconds;
  say(
    `intake, one sample of 12 readings a message: ${round(perSecond(single))} readings/s stored (${round(single.readings)} in ${single.seconds.toFixed(1)} s, PUBACK after commit, ${round(single.megabytesRss)} MB)`,
  );
  say(
    `intake, packs of 60 samples: ${round(perSecond(packs))} readings/s stored (${round(packs.readings)} in ${packs.seconds.toFixed(1)} s, ${round(packs.megabytesRss)} MB)`,
  );
  say(
    `bare bulk statements of the same rows: ${round(bulkReadings)} readings/s; intake is ${(perSecond(single) / bulkReadings).toFixed(2)} of it by single samples, ${(perSecond(packs) / bulkReadings).toFixed(2)} by packs`,
  );
} finally {
  await database.stop();
  rmSync(folder, { recursive: true, force: true });
}
const outlook = measureOutlook(60);
say(
  `outlook, 500 paths over 60 days from 60 days of past: ${outlook.medianMs.toFixed(1)} ms (median of 60; slowest ${outlook.maxMs.toFixed(1)} ms)`,
);
