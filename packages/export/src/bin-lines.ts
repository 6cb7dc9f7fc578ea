import { metric } from '@duskline/domain';
import type { Bin, BinFigures } from './aggregate-bins.ts';
import type { ExportRequest } from './export-request.ts';
import type { LineFormat } from './line-format.ts';
import { localTime } from './local-time.ts';
import { testNames, timeQualityWord, unitOf, type NodeReadings } from './node-readings.ts';
import type { LinePage } from './raw-lines.ts';
import { instantText } from './utc-text.ts';

export const sourceOf = ({ air, card }: Pick<BinFigures, 'air' | 'card'>): string =>
  air && card ? 'air and card' : card ? 'card' : 'air';

/** Writes intervals, one line a metric (three with the extremes), dated by where the interval starts. */
export function binLines(
  readings: NodeReadings,
  format: LineFormat,
  request: Pick<ExportRequest, 'localTime' | 'aggregate'>,
): (bins: readonly Bin[]) => LinePage {
  const { site, node } = readings;
  const local = request.localTime ? localTime(site.timeZone) : undefined;
  const extremes = request.aggregate?.extremes ?? false;
  return (bins) => {
    let text = '';
    let rows = 0;
    for (const { startMs, lengthS, figures } of bins) {
      const timed = instantText(startMs) + format.afterTime;
      for (const [key, one] of figures) {
        const head = format.head(site.id, node.name, key) + timed;
        const tail = format.tail(sourceOf(one), {
          localTime: local?.text(startMs),
          expected: one.expected,
        });
        const line = (value: number, aggregation: string): void => {
          text +=
            head +
            String(value) +
            format.middle({
              unit: unitOf(key),
              flag: one.flag,
              tests: testNames(one.testMask),
              timeQuality: timeQualityWord(one.timeQuality),
              aggregation,
              intervalS: lengthS,
              count: one.count,
              part: readings.part(key, startMs),
            }) +
            one.receivedAt +
            tail;
          rows += 1;
        };
        line(one.value, one.aggregation);
        // A direction has no smallest and no largest.
        if (extremes && metric(key).aggregate === 'mean') {
          line(one.min, 'min');
          line(one.max, 'max');
        }
      }
    }
    return { text, rows };
  };
}
