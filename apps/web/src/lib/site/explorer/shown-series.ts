import type { ReadingsJson } from '@duskline/contract';
import { metric as metricEntry, metricOf, SECOND_MS } from '@duskline/domain';
import type { SeriesColumns } from './decimate.ts';

/** A reading somebody or some test doubted. */
export interface DoubtedPoint {
  readonly atMs: number;
  readonly value: number;
  readonly isFail: boolean;
  readonly tests: string;
}

/** One metric as the explorer draws it. */
export interface ShownSeries {
  readonly metric: string;
  readonly label: string;
  readonly unit: string;
  readonly columns: SeriesColumns;
  readonly gapMs: number;
  readonly source: ReadingsJson['source'];
  /** As they came: what the sentence is made of. */
  readonly readings: ReadingsJson;
  readonly counts: Float64Array;
  readonly doubted: readonly DoubtedPoint[];
  readonly leftOut: { readonly suspect: number; readonly fail: number };
}

/** @param doubted the same range with `flags=suspect,fail`; undefined: not asked for */
export function shownSeries(good: ReadingsJson, doubted?: ReadingsJson): ShownSeries {
  const half = (good.stepS * SECOND_MS) / 2;
  const { points } = good;
  return {
    metric: good.metric,
    label: good.label,
    unit: good.unit,
    source: good.source,
    readings: good,
    gapMs: good.gapS * SECOND_MS,
    columns: {
      atMs: Float64Array.from(points, (point) => Date.parse(point.at) + half),
      mean: Float64Array.from(points, (point) => point.mean),
      low: Float64Array.from(points, (point) => point.min),
      high: Float64Array.from(points, (point) => point.max),
    },
    counts: Float64Array.from(points, (point) => point.count),
    doubted: (doubted?.points ?? []).map((point) => ({
      atMs: Date.parse(point.at) + ((doubted?.stepS ?? 0) * SECOND_MS) / 2,
      value: point.mean,
      isFail: point.flag === 'fail',
      tests: (point.failedTests ?? []).join(', '),
    })),
    leftOut: { suspect: good.leftOut?.suspect ?? 0, fail: good.leftOut?.fail ?? 0 },
  };
}

/** Metrics with one unit share a panel and its axis, in the order they were chosen; at most so many lines a panel. */
export function panelsOf(
  series: readonly ShownSeries[],
  most = 4,
): readonly (readonly ShownSeries[])[] {
  const panels: ShownSeries[][] = [];
  for (const one of series) {
    const fits = panels.find((panel) => panel[0]?.unit === one.unit && panel.length < most);
    if (fits === undefined) panels.push([one]);
    else fits.push(one);
  }
  return panels;
}

/** A metric's name as people read it; its key where the catalogue has none. */
export function metricLabel(key: string): string {
  const known = metricOf(key);
  return known === undefined ? key : metricEntry(known).label;
}
