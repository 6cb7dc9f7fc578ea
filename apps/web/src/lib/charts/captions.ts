import type { FleetRowJson, ReadingsJson, SitePageJson } from '@duskline/contract';
import { dayName, MINUTE_MS, sayDuration, SECOND_MS, type DayReader } from '@duskline/domain';
import { metricValue, percent, withUnit } from '../format/quantity.ts';
import { instantMs } from '../format/time.ts';
import { text } from '../text/en.ts';

const heard = (values: readonly (number | null)[]): readonly number[] =>
  values.filter((value) => value !== null);

const mean = (values: readonly number[]): number =>
  values.reduce((sum, value) => sum + value, 0) / values.length;

/** The charge chart in one sentence. */
export function chargeCaption({ week, fan }: FleetRowJson, reader: DayReader): string {
  const past = heard(week.percent);
  const [first, last] = [past[0], past.at(-1)];
  const moved =
    first === undefined || last === undefined
      ? text.chart.nothing.replace('.', '')
      : text.chart.chargeMoved(percent(first / 100), percent(last / 100));
  const at = (fan?.p50.length ?? 0) - 1;
  const [low, high] = [fan?.p10[at], fan?.p90[at]];
  if (fan === null || low === undefined || high === undefined) return moved + text.chart.noOutlook;
  const endMs = instantMs(fan.start) + at * fan.stepS * SECOND_MS;
  return (
    moved + text.chart.chargeAhead(percent(low / 100), percent(high / 100), dayName(endMs, reader))
  );
}

/** Harvest and load by day in one sentence; means over the days that have both. Every day is there, heard or not. */
export function balanceCaption(days: readonly SitePageJson['days'][number][]): string {
  const full = days.filter((day) => day.harvestWh !== null && day.loadWh !== null);
  if (full.length === 0) return text.chart.nothing;
  const harvest = mean(full.map((day) => day.harvestWh ?? 0));
  const load = mean(full.map((day) => day.loadWh ?? 0));
  return (
    text.chart.energyMean(withUnit(harvest, 'Wh'), withUnit(load, 'Wh')) +
    text.chart.daysMissing(days.length - full.length)
  );
}

/** Where a point stands for many readings: for how many, and what is drawn of them. */
function summedUp(points: ReadingsJson['points'], stepS: number): string {
  if (stepS === 0) return '';
  const count = points.reduce((sum, point) => sum + point.count, 0);
  return text.chart.summedUp(count.toLocaleString('en-GB'), sayDuration(stepS * SECOND_MS));
}

/**
 * A chart of readings in one sentence: its span, its last value, its longest silence.
 *
 * @param range  the time shown: a silence at its ends is one, too
 */
export function readingsCaption(
  { metric, label, unit, points, gapS, stepS }: ReadingsJson,
  range: { readonly fromMs: number; readonly toMs: number },
): string {
  const last = points.at(-1);
  if (last === undefined) return text.chart.nothing;
  const value = (of: number): string => metricValue(metric, of, unit);
  const low = points.reduce((least, point) => Math.min(least, point.min), Infinity);
  const high = points.reduce((most, point) => Math.max(most, point.max), -Infinity);
  const times = [range.fromMs, ...points.map((point) => instantMs(point.at)), range.toMs];
  const longestMs = times.reduce(
    (longest, atMs, i) => Math.max(longest, atMs - (times[i - 1] ?? atMs)),
    0,
  );
  const silence =
    longestMs > Math.max(gapS * SECOND_MS, MINUTE_MS)
      ? text.chart.silence(sayDuration(longestMs))
      : text.chart.noSilence;
  return (
    text.chart.valueRan(label, value(low), value(high), value(last.mean)) +
    silence +
    summedUp(points, stepS)
  );
}
