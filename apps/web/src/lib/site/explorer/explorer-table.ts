import { sayMoment } from '@duskline/domain';
import { metricValue } from '../../format/quantity.ts';
import { text } from '../../text/en.ts';
import { siteText } from '../../text/site.ts';
import type { ShownSeries } from './shown-series.ts';

const words = siteText.explorer;
const TABLE_ROWS = 120;

/** What the explorer draws, as a table: every n-th point of each metric, and the doubted ones. */
export function explorerTable(series: readonly ShownSeries[], timeZone: string) {
  return {
    heads: [
      text.chart.time,
      text.chart.metric,
      text.chart.mean,
      text.chart.least,
      text.chart.greatest,
      text.chart.count,
      words.quality,
    ],
    rows: series.flatMap((one) => {
      const { atMs, mean, low, high } = one.columns;
      const every = Math.max(1, Math.ceil(atMs.length / TABLE_ROWS));
      const say = (value: number | undefined): string =>
        metricValue(one.metric, value ?? 0, one.unit);
      const good = [...atMs.keys()]
        .filter((i) => i % every === 0)
        .map((i) => [
          sayMoment(atMs[i] ?? 0, timeZone),
          one.label,
          say(mean[i]),
          say(low[i]),
          say(high[i]),
          String(one.counts[i] ?? 0),
          '',
        ]);
      const bad = one.doubted
        .slice(0, TABLE_ROWS)
        .map((point) => [
          sayMoment(point.atMs, timeZone),
          one.label,
          say(point.value),
          '',
          '',
          '',
          `${point.isFail ? words.fail : words.suspect} ${point.tests}`,
        ]);
      return [...good, ...bad];
    }),
  };
}
