import { metricValue } from '../../format/quantity.ts';
import { sayMoment } from '../../format/time.ts';
import { text } from '../../text/en.ts';
import { siteText } from '../../text/site.ts';
import { nearestIndex } from './decimate.ts';
import type { ShownSeries } from './shown-series.ts';

const words = siteText.explorer;

/**
 * What is under the cursor, in words: the time, and of each metric the nearest value and the nearest doubted one.
 *
 * @param pxMs  milliseconds a pixel stands for: what is drawn apart is told apart
 */
export function explorerReadout(
  series: readonly ShownSeries[],
  {
    atMs,
    pxMs,
    timeZone,
  }: { readonly atMs: number; readonly pxMs: number; readonly timeZone: string },
): string {
  const said = series.map((one) => {
    const i = nearestIndex(one.columns.atMs, atMs, Math.max(one.gapMs, pxMs * 3));
    const value =
      i === undefined
        ? text.chart.nothingHere
        : metricValue(one.metric, one.columns.mean[i] ?? 0, one.unit);
    return words.readout(one.label, value) + doubtedNear(one, atMs, pxMs * 4);
  });
  return `${sayMoment(atMs, timeZone)} · ${said.join(' · ')}`;
}

function doubtedNear(
  { doubted, metric, unit }: ShownSeries,
  atMs: number,
  withinMs: number,
): string {
  const point = doubted.find((one) => Math.abs(one.atMs - atMs) < withinMs);
  if (point === undefined) return '';
  const tests = point.tests === '' ? '' : `, ${words.failedTests(point.tests)}`;
  return ` (${point.isFail ? words.fail : words.suspect} ${metricValue(metric, point.value, unit)}${tests})`;
}
