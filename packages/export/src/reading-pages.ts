import type { MetricKey } from '@duskline/domain';
import { aggregateBins } from './aggregate-bins.ts';
import { binLines, sourceOf } from './bin-lines.ts';
import type { ExportRequest } from './export-request.ts';
import type { ExportSource, SourceSample } from './export-source.ts';
import type { LineFormat } from './line-format.ts';
import { arrayItems, flagAt, maskAt, nodeReadings, type NodeReadings } from './node-readings.ts';
import { ParquetMonth, type ParquetRow } from './parquet-months.ts';
import { rawLines, type LinePage } from './raw-lines.ts';
import { microsOf, utcText } from './utc-text.ts';
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

/** A month of a site, ready to be written. */
export interface MonthFile {
  /** `2026-11`, with a number behind it where one file was not enough. */
  readonly month: string;
  readonly siteId: string;
  readonly file: ParquetMonth;
}

/** Site after site and month after month: one of them is in memory at a time. */
export async function* monthFiles(
  source: ExportSource,
  request: ExportRequest,
  onSamples: OnSamples,
): AsyncGenerator<MonthFile> {
  for await (const { readings, samples } of eachNode(source, request, onSamples)) {
    const { site, node } = readings;
    let month = '';
    let part = 1;
    let file = new ParquetMonth(site.id, node.name);
    const bins = request.aggregate === undefined ? undefined : aggregateBins(readings, request);
    const done = (): MonthFile => ({
      month: part === 1 ? month : `${month}-${part}`,
      siteId: site.id,
      file,
    });
    const rows = rowsOf(readings, request, bins, samples);
    for await (const [key, row, at] of rows) {
      if (at !== month || file.full) {
        if (file.rows > 0) yield done();
        part = at === month ? part + 1 : 1;
        month = at;
        file = new ParquetMonth(site.id, node.name);
      }
      file.add(key, row);
    }
    if (file.rows > 0) yield done();
  }
}

async function* eachNode(
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

type MonthRow = readonly [key: MetricKey, row: ParquetRow, month: string];

async function* rowsOf(
  readings: NodeReadings,
  request: ExportRequest,
  bins: ReturnType<typeof aggregateBins> | undefined,
  samples: AsyncIterable<readonly SourceSample[]>,
): AsyncGenerator<MonthRow> {
  for await (const page of samples) {
    if (bins === undefined) yield* rawRows(readings, request, page);
    else yield* binRows(readings, request, bins.add(page));
  }
  if (bins !== undefined) yield* binRows(readings, request, bins.end());
}

function* rawRows(
  readings: NodeReadings,
  { flags: chosen }: ExportRequest,
  samples: readonly SourceSample[],
): Generator<MonthRow> {
  for (const sample of samples) {
    const time = utcText(sample.at);
    const atMicros = microsOf(time);
    const receivedMicros = microsOf(utcText(sample.received));
    const { places, keys } = readings.wanted(sample.layoutId);
    const values = arrayItems(sample.values);
    const flags = sample.flags === null ? undefined : arrayItems(sample.flags);
    const tests = sample.tests === null ? undefined : arrayItems(sample.tests);
    for (const [i, place] of places.entries()) {
      const flag = flagAt(flags, place, sample.stale);
      const key = keys[i];
      if (key === undefined || !(chosen as readonly number[]).includes(flag)) continue;
      yield [
        key,
        {
          atMicros,
          receivedMicros,
          value: Number(values[place]),
          flag,
          testMask: maskAt(tests, place),
          timeQuality: sample.timeQuality ?? 0,
          aggregation: 'raw',
          intervalS: null,
          count: 1,
          expected: null,
          part: readings.part(key, atMicros / 1000),
          source: sample.card ? 'card' : 'air',
        },
        time.slice(0, 7),
      ];
    }
  }
}

function* binRows(
  readings: NodeReadings,
  { aggregate }: ExportRequest,
  bins: ReturnType<ReturnType<typeof aggregateBins>['end']>,
): Generator<MonthRow> {
  for (const { startMs, lengthS, expected, figures } of bins)
    for (const [key, one] of figures) {
      const row = (value: number, aggregation: string): MonthRow => [
        key,
        {
          atMicros: startMs * 1000,
          receivedMicros: microsOf(one.receivedAt),
          value,
          flag: one.flag,
          testMask: one.testMask,
          timeQuality: one.timeQuality,
          aggregation,
          intervalS: lengthS,
          count: one.count,
          expected,
          part: readings.part(key, startMs),
          source: sourceOf(one),
        },
        new Date(startMs).toISOString().slice(0, 7),
      ];
      yield row(one.value, one.aggregation);
      if (aggregate?.extremes === true && one.aggregation === 'mean') {
        yield row(one.min, 'min');
        yield row(one.max, 'max');
      }
    }
}
