import type { MetricKey } from '@duskline/domain';
import type { Bin } from './aggregate-bins.ts';
import { textCell } from './csv-text.ts';
import type { ExportRequest } from './export-request.ts';
import type { SourceSample } from './export-source.ts';
import { localTime } from './local-time.ts';
import { arrayItems, flagAt, UNSURE, type NodeReadings } from './node-readings.ts';
import type { LinePage } from './raw-lines.ts';
import { instantText, utcText } from './utc-text.ts';

/** Heading of the wide form: a column a metric and one for its flag; units are in metrics.csv. */
export function wideHeading(
  metrics: readonly MetricKey[],
  { localTime: local }: Pick<ExportRequest, 'localTime'>,
): string {
  const columns = [
    'site_id',
    'node_id',
    'observed_at',
    ...(local ? ['observed_at_local'] : []),
    'interval_s',
    ...metrics.flatMap((key) => [key, `${key}_qc_flag`]),
  ];
  return `${columns.join(',')}\r\n`;
}

/** Writes one row for each time (or interval) of a node. A row is held until the time has changed. */
export function wideLines(
  readings: NodeReadings,
  metrics: readonly MetricKey[],
  request: Pick<ExportRequest, 'flags' | 'localTime'>,
): {
  samples(samples: readonly SourceSample[]): LinePage;
  bins(bins: readonly Bin[]): LinePage;
  end(): LinePage;
} {
  const { site, node } = readings;
  const chosen = new Set<number>(request.flags);
  const columnOf = new Map(metrics.map((key, i) => [key, i * 2]));
  const local = request.localTime ? localTime(site.timeZone) : undefined;
  const head = `${textCell(site.id)},${textCell(node.name)},`;
  const opening = (time: string, intervalS: string): string =>
    `${head}${time},${local === undefined ? '' : `${local.text(Date.parse(time))},`}${intervalS}`;
  let heldAt = '';
  let cells: string[] = [];

  function release(): LinePage {
    if (cells.length === 0) return { text: '', rows: 0 };
    const text = `${opening(utcText(heldAt), '')},${cells.join(',')}\r\n`;
    cells = [];
    return { text, rows: 1 };
  }

  return {
    samples(samples) {
      let text = '';
      let rows = 0;
      for (const sample of samples) {
        if (sample.timeQuality === UNSURE) continue;
        if (sample.at !== heldAt) {
          const page = release();
          text += page.text;
          rows += page.rows;
          heldAt = sample.at;
        }
        const { places, keys } = readings.wanted(sample.layoutId);
        const values = arrayItems(sample.values);
        const flags = sample.flags === null ? undefined : arrayItems(sample.flags);
        for (const [i, place] of places.entries()) {
          const flag = flagAt(flags, place, sample.stale);
          const column = columnOf.get(keys[i]!);
          if (column === undefined || !chosen.has(flag)) continue;
          if (cells.length === 0) cells = Array.from({ length: metrics.length * 2 }, () => '');
          cells[column] = values[place] ?? '';
          cells[column + 1] = String(flag);
        }
      }
      return { text, rows };
    },
    bins(bins) {
      let text = '';
      for (const { startMs, lengthS, figures } of bins) {
        const row = metrics.flatMap((key) => {
          const one = figures.get(key);
          return one === undefined ? ['', ''] : [String(one.value), String(one.flag)];
        });
        text += `${opening(instantText(startMs), String(lengthS))},${row.join(',')}\r\n`;
      }
      return { text, rows: bins.length };
    },
    end: release,
  };
}
