import { metricKeys, nodeId, type NodeName } from '@duskline/domain';
import { migrateStore, openStore, startEmbeddedPostgres, type Store } from '@duskline/store';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { setFlagsFromString } from 'node:v8';
import { runInNewContext } from 'node:vm';
import { pino } from 'pino';
import postgres from 'postgres';
import type { NewExportJson } from '@duskline/contract';
import { createExportDesk, type ExportDesk } from '../../apps/server/src/export/export-desk.ts';
import { keeper } from '../../apps/server/src/export/testing-fleet.ts';
import { makeBenchNodes, type BenchNode } from './intake-rate.ts';

setFlagsFromString('--expose-gc');
/** What was left over before an export is not of that export. */
const collectGarbage = runInNewContext('gc') as () => void;
const METRICS = 12;
const GAP_S = 30;
const FROM_MS = Date.UTC(2026, 0, 1);
const reader = { account: keeper, exactPositions: true, seesAll: true };

interface Figures {
  readonly format: string;
  readonly rows: number;
  readonly seconds: number;
  readonly rowsPerSecond: number;
  readonly shareOfCopy: number;
  readonly megabytes: number;
  readonly megabytesRss: number;
  readonly liveLagP99Ms: number;
}

/** Fills the table past all code of ours: what is measured is the way out. */
async function fill(sql: postgres.Sql, store: Store, nodes: readonly BenchNode[], rows: number) {
  const metrics = [...metricKeys].slice(0, METRICS).sort();
  const [first] = nodes;
  if (first === undefined) throw new Error('No node was made.');
  // One sample the ordinary way makes the layout known.
  await store.samples.accept([
    {
      node: first.name as NodeName,
      lane: 'live',
      receivedAtMs: FROM_MS - 60_000,
      samples: [
        {
          observedAtMs: FROM_MS - 60_000,
          metrics,
          values: metrics.map(() => 1),
          timeQuality: 'synced',
        },
      ],
    },
  ]);
  const samples = Math.ceil(rows / METRICS / nodes.length);
  const months = Math.ceil((samples * GAP_S) / (28 * 86_400)) + 1;
  await sql`select ensure_sample_month((date '2026-01-01' + make_interval(months => m))::date) from generate_series(0, ${months}::int) m`;
  await sql`
    insert into sample (node_id, observed_at, layout_id, received_at, values)
    select node, to_timestamp(${FROM_MS / 1000}::float8 + i * ${GAP_S}::int), (select min(id) from layout),
      to_timestamp(${FROM_MS / 1000}::float8 + i * ${GAP_S}::int + 2),
      array(select round((12 + m + sin(i / 460.0 + m))::numeric, 2)::float8 from generate_series(1, ${METRICS}::int) m)
    from unnest(${nodes.map(({ id }) => id)}::int[]) node, generate_series(0, ${samples - 1}::int) i
    order by node, i`;
  await sql`vacuum analyze`;
  return { rows: samples * METRICS * nodes.length, toMs: FROM_MS + samples * GAP_S * 1000 };
}

/** The same rows and columns by the database alone. @returns seconds */
async function copyOut(url: string, toMs: number): Promise<number> {
  const sql = postgres(url, { max: 1, onnotice: () => undefined });
  const until = new Date(toMs).toISOString();
  const statement = `copy (
    select node.site_id, node.name, metric.key, sample.observed_at, sample.values[place], '' as unit,
      coalesce(sample.flags[place], 1), '' as tests, coalesce(sample.time_quality, 0), 'raw', null, 1, null,
      sample.received_at, case when card_import_id is null then 'air' else 'card' end
    from sample
    join node on node.id = sample.node_id
    join layout on layout.id = sample.layout_id
    cross join unnest(layout.metric_ids) with ordinality entry (metric_id, place)
    join metric on metric.id = entry.metric_id
    where observed_at >= '2026-01-01Z' and observed_at < '${until}'
    order by sample.node_id, sample.observed_at, sample.layout_id, place
  ) to stdout (format csv)`;
  try {
    const startedMs = performance.now();
    // The text is ours alone: COPY takes no bound values.
    // eslint-disable-next-line no-restricted-syntax
    const stream = await sql.unsafe(statement).readable();
    for await (const _chunk of stream);
    return (performance.now() - startedMs) / 1000;
  } finally {
    await sql.end();
  }
}

/** A message a quarter second through the store meanwhile: how late it is committed, against when it was due. */
function liveTraffic(store: Store, node: BenchNode): { stop(): Promise<number> } {
  const lags: number[] = [];
  let over = false;
  let failure: unknown;
  const metrics = [...metricKeys].slice(0, METRICS).sort();
  const run = (async () => {
    let dueMs = performance.now();
    while (!over) {
      const at = Date.now();
      await store.samples.accept([
        {
          node: node.name as NodeName,
          lane: 'live',
          receivedAtMs: at,
          samples: [
            { observedAtMs: at, metrics, values: metrics.map(() => 2), timeQuality: 'synced' },
          ],
        },
      ]);
      lags.push(performance.now() - dueMs);
      dueMs += 250;
      await sleep(Math.max(0, dueMs - performance.now()));
    }
  })().catch((cause: unknown) => {
    failure = cause;
  });
  return {
    async stop() {
      over = true;
      await run;
      if (failure !== undefined) throw new Error('The live load failed.', { cause: failure });
      lags.sort((a, b) => a - b);
      return lags[Math.floor(lags.length * 0.99)] ?? 0;
    },
  };
}

async function measure(
  desk: ExportDesk,
  query: NewExportJson,
  more: { readonly store: Store; readonly node: BenchNode; readonly copySeconds: number },
): Promise<Figures> {
  collectGarbage();
  const before = process.memoryUsage.rss();
  let highest = before;
  const watch = setInterval(() => (highest = Math.max(highest, process.memoryUsage.rss())), 50);
  const live = liveTraffic(more.store, more.node);
  const startedMs = performance.now();
  const started = await desk.start(query, reader);
  if (!started.ok) throw new Error(started.fault.detail);
  for (;;) {
    const found = await desk.find(started.value.id, reader);
    if (!found.ok) throw new Error(found.fault.detail);
    const { state, note, rows, bytes } = found.value;
    if (state === 'running') {
      await sleep(20);
      continue;
    }
    if (state !== 'done') throw new Error(note ?? state);
    const seconds = (performance.now() - startedMs) / 1000;
    clearInterval(watch);
    const liveLagP99Ms = await live.stop();
    await desk.remove(started.value.id, reader);
    return {
      format: query.format ?? 'zip',
      rows: rows ?? 0,
      seconds,
      rowsPerSecond: Math.round((rows ?? 0) / seconds),
      shareOfCopy: more.copySeconds / seconds,
      megabytes: (bytes ?? 0) / 1e6,
      megabytesRss: (highest - before) / 1e6,
      liveLagP99Ms,
    };
  }
}

/** How long until an export that runs has stopped and its connection is free. */
async function measureAbort(
  desk: ExportDesk,
  sql: postgres.Sql,
  query: NewExportJson,
): Promise<number> {
  const started = await desk.start(query, reader);
  if (!started.ok) throw new Error(started.fault.detail);
  await sleep(700);
  const startedMs = performance.now();
  await desk.remove(started.value.id, reader);
  for (;;) {
    const [row] = await sql<{ busy: number }[]>`
      select count(*)::int as busy from pg_stat_activity
      where state <> 'idle' and query like '%sample_note note%' and pid <> pg_backend_pid()`;
    if (row?.busy === 0) return performance.now() - startedMs;
    await sleep(20);
  }
}

/** The bench of exports, with a database of its own: four nodes, twelve metrics, every 30 s. */
export async function benchExport(rows: number) {
  const folder = mkdtempSync(join(tmpdir(), 'duskline-bench-'));
  const database = await startEmbeddedPostgres({ dataDir: join(folder, 'postgres') });
  const sql = postgres(database.url, { max: 1, onnotice: () => undefined });
  try {
    await migrateStore(database.url);
    const store = await openStore({ url: database.url });
    const log = pino({ level: 'error' });
    const desk = createExportDesk({
      store,
      folder: join(folder, 'exports'),
      holder: 'bench',
      now: () => Date.now(),
      log,
    });
    try {
      const nodes = await makeBenchNodes(store, 5);
      const [node, ...filled] = nodes;
      if (node === undefined) throw new Error('No node was made.');
      const stored = await fill(
        sql,
        store,
        filled.map((one) => ({ ...one, id: nodeId(one.id) })),
        rows,
      );
      const query: NewExportJson = {
        from: new Date(FROM_MS).toISOString(),
        to: new Date(stored.toMs).toISOString(),
      };
      await copyOut(database.url, stored.toMs);
      const copySeconds = await copyOut(database.url, stored.toMs);
      // The first export of a process also loads and compiles what exports need: no memory of the one that is measured.
      const little = {
        ...query,
        to: new Date(FROM_MS + (stored.toMs - FROM_MS) / 20).toISOString(),
      };
      for (const format of ['csv', 'zip', 'parquet', 'ndjson'] as const)
        await measure(desk, { ...little, format }, { store, node, copySeconds });
      const figures: Figures[] = [];
      for (const format of ['csv', 'zip', 'parquet', 'ndjson'] as const)
        figures.push(await measure(desk, { ...query, format }, { store, node, copySeconds }));
      const abortMs = await measureAbort(desk, sql, { ...query, format: 'csv' });
      return {
        report: { bench: 'export', rows: stored.rows, copySeconds, figures, abortMs },
        sentences: [
          `export, ${stored.rows.toLocaleString('en-GB')} readings; COPY … TO STDOUT of the same rows takes ${copySeconds.toFixed(1)} s`,
          ...figures.map(
            (one) =>
              `  ${one.format}: ${one.seconds.toFixed(1)} s, ${one.rowsPerSecond.toLocaleString('en-GB')} rows/s, ${Math.round(one.shareOfCopy * 100)} % of the rate of COPY; ${one.megabytes.toFixed(0)} MB, +${one.megabytesRss.toFixed(0)} MB memory, live lag p99 ${one.liveLagP99Ms.toFixed(0)} ms`,
          ),
          `  stopped on request within ${abortMs.toFixed(0)} ms`,
        ],
      };
    } finally {
      await desk.close();
      await store.close();
    }
  } finally {
    await sql.end();
    await database.stop();
    rmSync(folder, { recursive: true, force: true });
  }
}
