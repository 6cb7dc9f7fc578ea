import type { MetricKey } from '@duskline/domain';
import type { ExportRequest } from './export-request.ts';
import type { SourceSample } from './export-source.ts';
import type { LineFormat } from './line-format.ts';
import { localTime } from './local-time.ts';
import {
  arrayItems,
  flagAt,
  maskAt,
  testNames,
  timeQualityWord,
  unitOf,
  type NodeReadings,
} from './node-readings.ts';
import { utcText } from './utc-text.ts';

/** Text of some lines, and how many they are. */
export interface LinePage {
  readonly text: string;
  readonly rows: number;
}

/** The pieces of a layout's lines that do not change with the sample. */
interface LayoutPieces {
  readonly epoch: number;
  readonly places: readonly number[];
  readonly keys: readonly MetricKey[];
  readonly heads: readonly string[];
  /** Of readings nothing is wrong with: flag 1, time synced. */
  readonly middles: readonly string[];
}

/**
 * Writes the samples of one node as they are, one line a reading. Texts are put together a page at a time; a sample nothing
 * is to be said of costs a handful of joins of ready pieces.
 */
export function rawLines(
  readings: NodeReadings,
  format: LineFormat,
  request: Pick<ExportRequest, 'flags' | 'localTime'>,
): (samples: readonly SourceSample[]) => LinePage {
  const { site, node } = readings;
  const chosen = new Set<number>(request.flags);
  const everyFlag = [1, 2, 3, 4].every((flag) => chosen.has(flag));
  const pieces = new Map<number, LayoutPieces>();
  const local = request.localTime ? localTime(site.timeZone) : undefined;
  const air = format.tail('air', {});

  const facts = (key: MetricKey, atMs: number) => ({
    unit: unitOf(key),
    flag: 1,
    tests: '',
    timeQuality: 'synced',
    aggregation: 'raw',
    intervalS: null,
    count: 1,
    part: readings.part(key, atMs),
  });

  function piecesOf(layoutId: number, atMs: number): LayoutPieces {
    const epoch = readings.epoch(atMs);
    const found = pieces.get(layoutId);
    if (found?.epoch === epoch) return found;
    const { places, keys } = readings.wanted(layoutId);
    const made = {
      epoch,
      places,
      keys,
      heads: keys.map((key) => format.head(site.id, node.name, key)),
      middles: keys.map((key) => format.middle(facts(key, atMs))),
    };
    pieces.set(layoutId, made);
    return made;
  }

  return (samples) => {
    let text = '';
    let rows = 0;
    for (const sample of samples) {
      const time = utcText(sample.at);
      const atMs = Date.parse(time);
      const { places, keys, heads, middles } = piecesOf(sample.layoutId, atMs);
      if (places.length === 0) continue;
      const values = arrayItems(sample.values);
      const tail =
        !sample.card && local === undefined
          ? air
          : format.tail(sample.card ? 'card' : 'air', { localTime: local?.text(atMs) });
      const end = utcText(sample.received) + tail;
      const timed = time + format.afterTime;
      const plain =
        sample.flags === null &&
        sample.tests === null &&
        !sample.stale &&
        (sample.timeQuality === null || sample.timeQuality === 0);
      if (plain) {
        if (!chosen.has(1)) continue;
        for (let i = 0; i < places.length; i += 1)
          text += heads[i]! + timed + values[places[i]!]! + middles[i]! + end;
        rows += places.length;
        continue;
      }
      const flags = sample.flags === null ? undefined : arrayItems(sample.flags);
      const tests = sample.tests === null ? undefined : arrayItems(sample.tests);
      for (let i = 0; i < places.length; i += 1) {
        const place = places[i]!;
        const flag = flagAt(flags, place, sample.stale);
        if (!everyFlag && !chosen.has(flag)) continue;
        const middle = format.middle({
          ...facts(keys[i]!, atMs),
          flag,
          tests: testNames(maskAt(tests, place)),
          timeQuality: timeQualityWord(sample.timeQuality),
        });
        text += heads[i]! + timed + values[place]! + middle + end;
        rows += 1;
      }
    }
    return { text, rows };
  };
}
