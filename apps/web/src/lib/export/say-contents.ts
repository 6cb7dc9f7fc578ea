import type { NewExportJson } from '@duskline/contract';
import { metric } from '@duskline/domain';
import { exportText as words } from '../text/export.ts';

/** What a row of an export stands for, and of which metrics: "a value for every day of the site; Air temperature, Rain". */
export function sayContents({
  aggregate,
  day,
  metrics,
}: Pick<NewExportJson, 'aggregate' | 'day' | 'metrics'>): string {
  const rows =
    aggregate === undefined
      ? words.rawRows
      : words.rowsOf(aggregate === '1d' && day === 'utc' ? 'day of UTC' : words.every[aggregate]);
  const which =
    metrics === undefined ? words.allMetrics : metrics.map((key) => metric(key).label).join(', ');
  return words.contents(rows, which);
}
