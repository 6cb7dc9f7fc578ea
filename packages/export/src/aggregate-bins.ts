import { metric, type MetricKey } from '@duskline/domain';
import type { ExportRequest } from './export-request.ts';
import type { SourceSample } from './export-source.ts';
import { intervalSpans } from './interval-spans.ts';
import { medianGapS } from './kept-gap.ts';
import { arrayItems, flagAt, maskAt, UNSURE, type NodeReadings } from './node-readings.ts';
import { utcText } from './utc-text.ts';

/** One metric over one interval. */
export interface BinFigures {
  /** By the metric's kind: mean, sum, last, or mean of a direction (0 ≤ value < 360). */
  readonly value: number;
  readonly aggregation: 'mean' | 'sum' | 'last';
  readonly min: number;
  readonly max: number;
  readonly count: number;
  /** Readings there would be had none been missed, ≥ 1. */
  readonly expected: number;
  /** The worst there is among them. */
  readonly flag: number;
  readonly testMask: number;
  /** Place in `timeQualities`: the least sure. */
  readonly timeQuality: number;
  readonly receivedAt: string;
  readonly air: boolean;
  readonly card: boolean;
}

export interface Bin {
  readonly startMs: number;
  readonly lengthS: number;
  readonly figures: ReadonlyMap<MetricKey, BinFigures>;
}

interface Gathering {
  /** When its readings were made; how many of them. */
  readonly atMs: number[];
  count: number;
  sum: number;
  min: number;
  max: number;
  last: number;
  east: number;
  north: number;
  flag: number;
  testMask: number;
  timeQuality: number;
  receivedAt: string;
  air: boolean;
  card: boolean;
}

const RADIANS = Math.PI / 180;

/**
 * Sums readings up over intervals as they come, by time; what is finished is handed out, so that only one interval is held.
 * Readings of unsure time are left out, and those whose flag is not chosen.
 */
export function aggregateBins(
  readings: NodeReadings,
  request: Pick<ExportRequest, 'flags' | 'aggregate' | 'fromMs' | 'toMs'>,
): {
  add(samples: readonly SourceSample[]): readonly Bin[];
  end(): readonly Bin[];
} {
  const { site, node } = readings;
  const chosen = new Set<number>(request.flags);
  const spanAt = intervalSpans(request, site.timeZone);
  let span: readonly [startMs: number, endMs: number] = [0, 0];
  let gathered = new Map<MetricKey, Gathering>();
  /** The newest gap that readings of a metric told. */
  const keptGapS = new Map<MetricKey, number>();

  /** A node that was set to another gap is held to the one it kept. */
  function expectedOf(key: MetricKey, { atMs }: Gathering, lengthS: number): number {
    const gapS = medianGapS(atMs) ?? keptGapS.get(key) ?? node.power.usualGapS;
    keptGapS.set(key, gapS);
    return Math.max(1, Math.round(lengthS / gapS));
  }

  function close(): readonly Bin[] {
    if (gathered.size === 0) return [];
    const lengthS = (span[1] - span[0]) / 1000;
    const bin: Bin = {
      startMs: span[0],
      lengthS,
      figures: new Map(
        [...gathered].map(([key, one]) => [
          key,
          { ...figuresOf(key, one), expected: expectedOf(key, one, lengthS) },
        ]),
      ),
    };
    gathered = new Map();
    return [bin];
  }

  function addOne(sample: SourceSample, atMs: number): void {
    const { places, keys } = readings.wanted(sample.layoutId);
    const values = arrayItems(sample.values);
    const flags = sample.flags === null ? undefined : arrayItems(sample.flags);
    const tests = sample.tests === null ? undefined : arrayItems(sample.tests);
    for (const [i, place] of places.entries()) {
      const flag = flagAt(flags, place, sample.stale);
      const key = keys[i];
      if (key === undefined || !chosen.has(flag)) continue;
      const one = gathered.get(key) ?? fresh();
      if (one.count === 0) gathered.set(key, one);
      const value = Number(values[place]);
      one.atMs.push(atMs);
      one.count += 1;
      one.sum += value;
      one.min = Math.min(one.min, value);
      one.max = Math.max(one.max, value);
      one.last = value;
      if (metric(key).aggregate === 'circular-mean') {
        one.east += Math.sin(value * RADIANS);
        one.north += Math.cos(value * RADIANS);
      }
      one.flag = Math.max(one.flag, flag);
      one.testMask |= maskAt(tests, place);
      one.timeQuality = Math.max(one.timeQuality, sample.timeQuality ?? 0);
      if (sample.received > one.receivedAt) one.receivedAt = sample.received;
      if (sample.card) one.card = true;
      else one.air = true;
    }
  }

  return {
    add(samples) {
      const done: Bin[] = [];
      for (const sample of samples) {
        if (sample.timeQuality === UNSURE) continue;
        const atMs = Date.parse(utcText(sample.at));
        if (atMs >= span[1] || atMs < span[0]) {
          done.push(...close());
          span = spanAt(atMs);
        }
        addOne(sample, atMs);
      }
      return done;
    },
    end: close,
  };
}

const fresh = (): Gathering => ({
  atMs: [],
  count: 0,
  sum: 0,
  min: Infinity,
  max: -Infinity,
  last: 0,
  east: 0,
  north: 0,
  flag: 1,
  testMask: 0,
  timeQuality: 0,
  receivedAt: '',
  air: false,
  card: false,
});

function figuresOf(key: MetricKey, one: Gathering): Omit<BinFigures, 'expected'> {
  const { aggregate } = metric(key);
  return {
    ...valueOf(aggregate, one),
    min: one.min,
    max: one.max,
    count: one.count,
    flag: one.flag,
    testMask: one.testMask,
    timeQuality: one.timeQuality,
    receivedAt: utcText(one.receivedAt),
    air: one.air,
    card: one.card,
  };
}

function valueOf(
  kind: ReturnType<typeof metric>['aggregate'],
  one: Gathering,
): Pick<BinFigures, 'value' | 'aggregation'> {
  switch (kind) {
    case 'mean':
      return { value: tidy(one.sum / one.count), aggregation: 'mean' };
    case 'sum':
      return { value: tidy(one.sum), aggregation: 'sum' };
    case 'circular-mean': {
      const degrees = Math.atan2(one.east, one.north) / RADIANS;
      return { value: tidy(((tidy(degrees) % 360) + 360) % 360), aggregation: 'mean' };
    }
    case 'last':
    case 'count':
      return { value: one.last, aggregation: 'last' };
  }
}

/** Twelve digits: what sums of binary fractions leave behind the last digit that was measured goes. */
const tidy = (value: number): number => Number(value.toPrecision(12));
