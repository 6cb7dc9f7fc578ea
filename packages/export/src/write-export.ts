import { metricKeys, type MetricKey } from '@duskline/domain';
import { once } from 'node:events';
import type { Writable } from 'node:stream';
import type { ExportRequest } from './export-request.ts';
import type { ExportSource } from './export-source.ts';
import { csvLines, ndjsonLines } from './line-format.ts';
import { longPages } from './reading-pages.ts';
import type { ExportOutcome, WriteDeps } from './write-deps.ts';
import { writePackage } from './write-package.ts';

export type { ExportOutcome, ExportProgress, WriteDeps } from './write-deps.ts';

/**
 * Writes one export and ends `out`. Memory stays flat whatever the range: what is held is a page of samples, for Parquet a
 * month of a site.
 *
 * @throws what the signal was aborted with, or what reading or writing failed with; `out` is then not ended
 */
export async function writeExport(deps: WriteDeps): Promise<ExportOutcome> {
  const { source, request, out, signal, onProgress } = deps;
  const { samples, metrics } = await survey(source, request);
  const passes = request.wide && request.format === 'zip' ? 2 : 1;
  let [read, rows] = [0, 0];
  const onSamples = (count: number): void => {
    signal.throwIfAborted();
    read += count;
    onProgress({ rows, ratio: samples === 0 ? 1 : Math.min(1, read / (samples * passes)) });
  };
  const onRows = (count: number): void => {
    rows += count;
  };
  if (request.format === 'zip' || request.format === 'parquet') {
    await writePackage(deps, { metrics, onSamples, onRows });
    return { rows };
  }
  const format = request.format === 'csv' ? csvLines : ndjsonLines;
  const heading = format.heading({
    localTime: request.localTime,
    expected: request.aggregate !== undefined,
  });
  const write = writerOf(out, format.encoding);
  await write(heading);
  for await (const page of longPages(source, request, format, onSamples)) {
    onRows(page.rows);
    await write(page.text);
  }
  const finished = once(out, 'finish');
  out.end();
  await finished;
  return { rows };
}

/** How much there is to read, and of which metrics, in the order of the catalogue. */
async function survey(
  source: ExportSource,
  request: ExportRequest,
): Promise<{ readonly samples: number; readonly metrics: readonly MetricKey[] }> {
  const present = new Set<MetricKey | undefined>();
  let samples = 0;
  for (const { node } of source.sites)
    for (const count of node === undefined ? [] : await source.counts(node.id)) {
      samples += count.samples;
      for (const key of source.layouts.get(count.layoutId) ?? []) present.add(key);
    }
  const asked = request.metrics === undefined ? undefined : new Set(request.metrics);
  return {
    samples,
    metrics: metricKeys.filter((key) => present.has(key) && (asked?.has(key) ?? true)),
  };
}

function writerOf(out: Writable, encoding: 'utf8' | 'latin1'): (text: string) => Promise<void> {
  let failure: Error | undefined;
  out.on('error', (error: Error) => {
    failure = error;
  });
  return async (text) => {
    if (failure !== undefined) throw failure;
    if (text !== '' && !out.write(text, encoding)) await once(out, 'drain');
  };
}
