import type { ExportPort, ExportReader, ExportRefusal } from '@duskline/api';
import type { ExportJson, NewExportJson } from '@duskline/contract';
import { DAY_MS, failed, ok, type Result } from '@duskline/domain';
import { aggregateSeconds, nameHider, writeExport, type ExportProgress } from '@duskline/export';
import type { ExportJob, Store } from '@duskline/store';
import type { Logger } from 'pino';
import { availabilityCsv, availabilityOf } from './availability.ts';
import { exportFiles } from './export-files.ts';
import { citationOf, fileStem, formatOf } from './export-names.ts';
import { guessSize } from './guess-size.ts';
import { readQuery, type ReadQuery } from './read-query.ts';
import { storeSource, type ExportReads } from './store-source.ts';

/** Made at the same time; who comes third is asked to come again. */
const AT_ONCE = 2;
const RETRY_AFTER_S = 30;
const KEPT_DAYS = 14;
const LISTED = 100;
const TIDY_EVERY_MS = 3_600_000;

export interface ExportDeskDeps {
  readonly store: ExportReads & Pick<Store, 'views'>;
  readonly folder: string;
  /** This server: files lie in its data folder. */
  readonly holder: string;
  readonly now: () => number;
  readonly log: Logger;
}

export interface ExportDesk extends ExportPort {
  /** Exports that a stop of the server broke off have failed. */
  recover(): Promise<void>;
  close(): Promise<void>;
}

interface Work {
  readonly controller: AbortController;
  readonly done: Promise<void>;
  progress: ExportProgress;
}

const refuse = (
  code: ExportRefusal['code'],
  detail: string,
  more: Pick<ExportRefusal, 'retryAfterS'> = {},
): Result<never, ExportRefusal> => failed({ code, detail, ...more });
const unknown = refuse('export-unknown', 'You have no export of this number.');

/** Makes exports, two at a time, and keeps their files for a while. */
export function createExportDesk({ store, folder, holder, now, log }: ExportDeskDeps): ExportDesk {
  const files = exportFiles(folder);
  const { jobs } = store.exportReads;
  const working = new Map<number, Work>();
  let starting = 0;

  const stateOf = (job: ExportJob): ExportJson['state'] =>
    job.state === 'done' && job.expiresAtMs <= now() ? 'expired' : job.state;
  const instant = (ms: number): string => new Date(ms).toISOString();
  const json = (job: ExportJob): ExportJson => ({
    id: job.id,
    state: stateOf(job),
    by: job.by,
    query: job.query as NewExportJson,
    version: job.version,
    madeAt: instant(job.madeAtMs),
    finishedAt: job.finishedAtMs === undefined ? null : instant(job.finishedAtMs),
    expiresAt: instant(job.expiresAtMs),
    fileName: job.fileName,
    citation: citationOf(job),
    progress: job.state === 'running' ? (working.get(job.id)?.progress ?? null) : null,
    rows: job.rows ?? null,
    bytes: job.bytes ?? null,
    sha256: job.sha256 ?? null,
    note: job.note ?? null,
  });

  async function found(id: number, reader: ExportReader): Promise<ExportJob | undefined> {
    const job = await jobs.find(id);
    return job !== undefined && (reader.seesAll || job.accountId === reader.account.id)
      ? job
      : undefined;
  }

  async function make(job: ExportJob, { request, sites }: ReadQuery, work: Work): Promise<void> {
    const { signal } = work.controller;
    const file = await files.create(job.id);
    try {
      const source = await storeSource(store, sites, { request, madeAtMs: job.madeAtMs, signal });
      const { rows } = await writeExport({
        source,
        request,
        frame: {
          name: fileStem(job, sites),
          version: job.version,
          madeAtMs: job.madeAtMs,
          by: request.names ? job.by : nameHider(await store.people.list()).name(job.by),
          query: JSON.stringify(job.query),
          citation: citationOf(job),
        },
        out: file.out,
        signal,
        onProgress: (progress) => {
          work.progress = progress;
        },
      });
      const kept = await file.keep();
      // Nobody asks for it any more: it was removed, perhaps by way of another server.
      if (!(await jobs.finish(job.id, { ...kept, rows, state: 'done', atMs: now() })))
        await files.remove(job.id);
    } catch (cause) {
      await file.discard();
      const stopped = signal.aborted;
      if (!stopped) log.error({ err: cause, export: job.id }, 'an export failed');
      await jobs.finish(job.id, {
        state: stopped ? 'stopped' : 'failed',
        atMs: now(),
        note: stopped
          ? 'It was stopped. There is no file.'
          : 'Something failed at our end; whoever runs the server finds it in its log. There is no file: ask for it again.',
      });
    }
  }

  function begin(job: ExportJob, query: ReadQuery): void {
    const work: Work = {
      controller: new AbortController(),
      progress: { rows: 0, ratio: 0 },
      done: Promise.resolve(),
    };
    const done = make(job, query, work)
      .catch((cause: unknown) =>
        log.error({ err: cause }, 'the end of an export could not be kept'),
      )
      .finally(() => working.delete(job.id));
    working.set(job.id, Object.assign(work, { done }));
  }

  async function tidy(): Promise<void> {
    for (const job of await jobs.expired(holder, now())) await files.remove(job.id);
  }
  const tidying = setInterval(() => {
    tidy().catch((cause: unknown) => log.warn({ err: cause }, 'old exports could not be removed'));
  }, TIDY_EVERY_MS);
  tidying.unref();

  return {
    async estimate(query, reader) {
      const read = readQuery(query, await store.views.fleet(), reader);
      if (!read.ok) return read;
      const { request, sites } = read.value;
      const nodes = sites.flatMap(({ node }) => (node === undefined ? [] : [node]));
      const { aggregate } = request;
      const amounts = await store.exportReads.estimate(
        nodes.map(({ id }) => id),
        request.metrics,
        {
          ...request,
          ...(aggregate === undefined ? {} : { intervalS: aggregateSeconds[aggregate.length] }),
          civil: aggregate?.length === '1d' && aggregate.day === 'civil',
        },
      );
      return ok({ ...guessSize(request, amounts), sites: sites.length });
    },
    async start(query, reader) {
      const read = readQuery(query, await store.views.fleet(), reader);
      if (!read.ok) return read;
      if (working.size + starting >= AT_ONCE)
        return refuse(
          'exports-busy',
          'Two exports are being made: ask again in half a minute, or stop one of them.',
          { retryAfterS: RETRY_AFTER_S },
        );
      starting += 1;
      try {
        const { request, sites } = read.value;
        // Whoever may see a part of the fleet only never has "the fleet", whatever was left out.
        const ids = sites.map(({ site }) => site.id);
        const isPart = reader.account.onlySites !== undefined && ids.length > 0;
        const job = await jobs.create({
          accountId: reader.account.id,
          by: reader.account.name,
          holder,
          query: isPart ? { ...query, sites: ids } : query,
          madeAtMs: now(),
          expiresAtMs: now() + KEPT_DAYS * DAY_MS,
          fileName: formatOf(request.format).ending,
        });
        const named = {
          ...job,
          fileName: `${fileStem(job, sites)}.${formatOf(request.format).ending}`,
        };
        await jobs.name(job.id, named.fileName);
        begin(named, read.value);
        return ok(json(named));
      } finally {
        starting -= 1;
      }
    },
    async list(reader) {
      const all = await jobs.recent(LISTED);
      return all.filter((job) => reader.seesAll || job.accountId === reader.account.id).map(json);
    },
    async find(id, reader) {
      const job = await found(id, reader);
      return job === undefined ? unknown : ok(json(job));
    },
    async file(id, reader) {
      const job = await found(id, reader);
      if (job === undefined) return unknown;
      if (job.state !== 'done' || job.sha256 === undefined || job.bytes === undefined)
        return refuse('export-not-done', job.note ?? 'It is still being made.');
      const size = job.expiresAtMs <= now() ? undefined : await files.size(id);
      if (size === undefined)
        return refuse(
          'export-gone',
          `Files are kept for ${KEPT_DAYS} days, by the server that made them. Ask for the export again.`,
        );
      // A file that is not as long as it was is never given out as if it were whole.
      if (size !== job.bytes)
        return refuse('export-gone', 'The file is damaged. Ask for it again.');
      const { mediaType } = formatOf((job.query as NewExportJson).format ?? 'zip');
      return ok({
        fileName: job.fileName,
        mediaType,
        bytes: job.bytes,
        sha256: job.sha256,
        open: (from, to) => files.read(id, from, to),
      });
    },
    async remove(id, reader) {
      const job = await found(id, reader);
      if (job === undefined) return unknown;
      const work = working.get(id);
      work?.controller.abort(new Error('The export was stopped.'));
      await work?.done;
      await files.remove(id);
      await jobs.remove(id);
      return ok(null);
    },
    async availability({ from, to }, reader) {
      const read = readQuery({ from, to }, await store.views.fleet(), reader);
      if (!read.ok) return read;
      const { request, sites } = read.value;
      return ok(await availabilityOf(store, sites, { ...request, nowMs: now() }));
    },
    availabilityCsv,
    async recover() {
      const note = 'The server was stopped while it was made. There is no file: ask for it again.';
      for (const id of await jobs.failRunning(holder, note, now())) await files.remove(id);
      await tidy();
    },
    async close() {
      clearInterval(tidying);
      for (const { controller } of working.values())
        controller.abort(new Error('The server stops.'));
      await Promise.all([...working.values()].map(({ done }) => done));
    },
  };
}
