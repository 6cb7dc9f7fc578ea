import type { MetricKey } from '@duskline/domain';
import { aggregateBins } from './aggregate-bins.ts';
import { binLines } from './bin-lines.ts';
import type { ExportRequest } from './export-request.ts';
import type { ExportSource, SourceSample } from './export-source.ts';
import type { LineFormat } from './line-format.ts';
import { nodeReadings, type NodeReadings } from './node-readings.ts';
import { rawLines, type LinePage } from './raw-lines.ts';
import { wideLines } from './wide-lines.ts';

/** Told of every page of samples that was read. */
export type OnSamples = (samples: number) => void;

/** The long form of all sites, page by page. */
export async function* longPages(
  source: ExportSource,
  request: ExportRequest,
  format: LineFormat,
  onSamples: OnSamples,
): AsyncGenerator<LinePage> {
  for await (const { readings, samples } of eachNode(source, request, onSamples)) {
    if (request.aggregate === undefined) {
      const write = rawLines(readings, format, request);
      for await (const page of samples) yield write(page);
    } else {
      const bins = aggregateBins(readings, request);
      const write = binLines(readings, format, request);
      for await (const page of samples) yield write(bins.add(page));
      yield write(bins.end());
    }
  }
}

/** The wide form of all sites, page by page. */
export async function* widePages(
  source: ExportSource,
  request: ExportRequest,
  metrics: readonly MetricKey[],
  onSamples: OnSamples,
): AsyncGenerator<LinePage> {
  for await (const { readings, samples } of eachNode(source, request, onSamples)) {
    const wide = wideLines(readings, metrics, request);
    if (request.aggregate === undefined) {
      for await (const page of samples) yield wide.samples(page);
      yield wide.end();
    } else {
      const bins = aggregateBins(readings, request);
      for await (const page of samples) yield wide.bins(bins.add(page));
      yield wide.bins(bins.end());
    }
  }
}

/** Node after node, each with its samples. */
export async function* eachNode(
  source: ExportSource,
  request: ExportRequest,
  onSamples: OnSamples,
): AsyncGenerator<{
  readonly readings: NodeReadings;
  readonly samples: AsyncIterable<readonly SourceSample[]>;
}> {
  for (const { site, node } of source.sites) {
    if (node === undefined) continue;
    const parts = await source.parts(site);
    const readings = nodeReadings({ site, node }, source.layouts, parts, request);
    yield { readings, samples: told(source.samples(node.id), onSamples) };
  }
}

async function* told(
  pages: AsyncIterable<readonly SourceSample[]>,
  onSamples: OnSamples,
): AsyncGenerator<readonly SourceSample[]> {
  for await (const page of pages) {
    yield page;
    onSamples(page.length);
  }
}
