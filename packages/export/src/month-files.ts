import { metric, type MetricKey } from '@duskline/domain';
import { aggregateBins, type Bin, type BinFigures } from './aggregate-bins.ts';
import { sourceOf } from './bin-lines.ts';
import type { ExportRequest } from './export-request.ts';
import type { ExportSource, SourceSample } from './export-source.ts';
import { SpareBlocks, type MetricColumns, type RowFacts } from './metric-columns.ts';
import { arrayItems, flagAt, maskAt, type NodeReadings } from './node-readings.ts';
import { ParquetMonth } from './parquet-months.ts';
import { eachNode, type OnSamples } from './reading-pages.ts';
import { microsOf, utcText } from './utc-text.ts';

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
  const spare = new SpareBlocks();
  for await (const { readings, samples } of eachNode(source, request, onSamples)) {
    const gathering = new MonthGathering(readings, spare);
    if (request.aggregate === undefined) {
      const gather = rawGatherer(readings, request, gathering);
      for await (const page of samples) {
        gather(page);
        yield* gathering.takeDone();
      }
    } else {
      const bins = aggregateBins(readings, request);
      for await (const page of samples) {
        gatherBins(bins.add(page), request, gathering);
        yield* gathering.takeDone();
      }
      gatherBins(bins.end(), request, gathering);
    }
    gathering.close();
    yield* gathering.takeDone();
  }
}

/** The month that is being gathered of one node, and those that are complete. */
class MonthGathering {
  readonly readings: NodeReadings;
  #done: MonthFile[] = [];
  #month = '';
  #part = 1;
  readonly #spare: SpareBlocks;
  file: ParquetMonth;

  constructor(readings: NodeReadings, spare: SpareBlocks) {
    this.readings = readings;
    this.#spare = spare;
    this.file = this.#fresh();
  }

  /** Rows that follow are of this month. @param month `2026-11` */
  turnTo(month: string): void {
    if (month === this.#month) return;
    this.close();
    this.#part = 1;
    this.#month = month;
  }

  close(): void {
    if (this.file.rows === 0) return;
    this.#done.push({
      month: this.#part === 1 ? this.#month : `${this.#month}-${this.#part}`,
      siteId: this.readings.site.id,
      file: this.file,
    });
    this.file = this.#fresh();
  }

  /** What is complete; a month that is full goes on in another file. Between two pages. */
  takeDone(): readonly MonthFile[] {
    if (this.file.full) {
      this.close();
      this.#part += 1;
    }
    if (this.#done.length === 0) return [];
    const done = this.#done;
    this.#done = [];
    return done;
  }

  #fresh(): ParquetMonth {
    return new ParquetMonth(this.readings.site.id, this.readings.node.name, this.#spare);
  }
}

/** Where the values of a layout go, as long as file and parts are the same. */
interface LayoutTargets {
  readonly file: ParquetMonth;
  readonly epoch: number;
  readonly places: readonly number[];
  readonly keys: readonly MetricKey[];
  readonly columns: readonly MetricColumns[];
  /** Places of the facts of readings nothing is to be said of, by air and by card. */
  readonly air: readonly number[];
  readonly card: readonly number[];
}

function rawGatherer(
  readings: NodeReadings,
  { flags: chosen }: Pick<ExportRequest, 'flags'>,
  gathering: MonthGathering,
): (samples: readonly SourceSample[]) => void {
  const isChosen = new Set<number>(chosen);
  const targets = new Map<number, LayoutTargets>();
  const factsOf = (key: MetricKey, atMs: number, more: Partial<RowFacts>): RowFacts => ({
    flag: 1,
    testMask: 0,
    timeQuality: 0,
    aggregation: 'raw',
    intervalS: null,
    count: 1,
    expected: null,
    part: readings.part(key, atMs),
    source: 'air',
    ...more,
  });

  function targetsOf(layoutId: number, atMs: number): LayoutTargets {
    const epoch = readings.epoch(atMs);
    const { file } = gathering;
    const found = targets.get(layoutId);
    if (found?.file === file && found.epoch === epoch) return found;
    const { places, keys } = readings.wanted(layoutId);
    const columns = keys.map((key) => file.columns(key));
    const plain = (source: string): number[] =>
      keys.map((key, i) => columns[i]?.placeOf(factsOf(key, atMs, { source })) ?? 0);
    const made: LayoutTargets = {
      ...{ file, epoch, places, keys, columns },
      air: plain('air'),
      card: plain('card'),
    };
    targets.set(layoutId, made);
    return made;
  }

  return (samples) => {
    for (const sample of samples) {
      const time = utcText(sample.at);
      gathering.turnTo(time.slice(0, 7));
      const atMicros = microsOf(time);
      const receivedMicros = microsOf(utcText(sample.received));
      const to = targetsOf(sample.layoutId, atMicros / 1000);
      const values = arrayItems(sample.values);
      const timeQuality = sample.timeQuality ?? 0;
      if (sample.flags === null && sample.tests === null && !sample.stale && timeQuality === 0) {
        if (!isChosen.has(1)) continue;
        const kinds = sample.card ? to.card : to.air;
        for (let i = 0; i < to.places.length; i += 1)
          to.columns[i]!.add(atMicros, receivedMicros, Number(values[to.places[i]!]), kinds[i]!);
        continue;
      }
      const flags = sample.flags === null ? undefined : arrayItems(sample.flags);
      const tests = sample.tests === null ? undefined : arrayItems(sample.tests);
      for (let i = 0; i < to.places.length; i += 1) {
        const place = to.places[i]!;
        const flag = flagAt(flags, place, sample.stale);
        if (!isChosen.has(flag)) continue;
        const column = to.columns[i]!;
        const facts = factsOf(to.keys[i]!, atMicros / 1000, {
          ...{ flag, testMask: maskAt(tests, place), timeQuality },
          source: sample.card ? 'card' : 'air',
        });
        column.add(atMicros, receivedMicros, Number(values[place]), column.placeOf(facts));
      }
    }
  };
}

function gatherBins(
  bins: readonly Bin[],
  { aggregate }: ExportRequest,
  gathering: MonthGathering,
): void {
  const { readings } = gathering;
  for (const { startMs, lengthS, figures } of bins) {
    gathering.turnTo(new Date(startMs).toISOString().slice(0, 7));
    for (const [key, one] of figures) {
      const column = gathering.file.columns(key);
      const add = (value: number, aggregation: string): void =>
        column.add(
          startMs * 1000,
          microsOf(one.receivedAt),
          value,
          column.placeOf({
            ...flagsOf(one),
            ...{ aggregation, intervalS: lengthS, count: one.count, expected: one.expected },
            part: readings.part(key, startMs),
            source: sourceOf(one),
          }),
        );
      add(one.value, one.aggregation);
      // A direction has no smallest and no largest.
      if (aggregate?.extremes === true && metric(key).aggregate === 'mean') {
        add(one.min, 'min');
        add(one.max, 'max');
      }
    }
  }
}

const flagsOf = ({ flag, testMask, timeQuality }: BinFigures) => ({ flag, testMask, timeQuality });
