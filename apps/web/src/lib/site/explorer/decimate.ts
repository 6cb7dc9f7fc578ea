/** Readings of one metric as columns, ascending in time: typed arrays, so that a million of them are nothing. */
export interface SeriesColumns {
  readonly atMs: Float64Array;
  readonly mean: Float64Array;
  readonly low: Float64Array;
  readonly high: Float64Array;
}

/** What is drawn in one pixel column. */
export interface PixelColumn {
  /** Column, from 0; −1 and `columns` are the neighbours outside, so that a line runs on to the edge. */
  readonly column: number;
  readonly low: number;
  readonly high: number;
  readonly first: number;
  readonly last: number;
  /** A silence lies before it: nothing joins it to what came before. */
  readonly isBroken: boolean;
}

export interface DecimateView {
  readonly fromMs: number;
  readonly toMs: number;
  /** Pixel columns between the two. */
  readonly columns: number;
  /** Points further apart than this are not joined. */
  readonly gapMs: number;
}

/** The first index whose time is not before `ms`. */
function lowerBound(atMs: Float64Array, ms: number): number {
  let low = 0;
  let high = atMs.length;
  while (low < high) {
    const middle = (low + high) >>> 1;
    if (atMs[middle]! < ms) low = middle + 1;
    else high = middle;
  }
  return low;
}

/**
 * At most one entry a pixel column, each with its least and greatest value: no spike is lost whatever the zoom, and no silence
 * bridged. One pass over what is in view.
 *
 * @returns in order of columns; empty when nothing is in view
 */
export function decimate(series: SeriesColumns, view: DecimateView): readonly PixelColumn[] {
  const { atMs, mean, low, high } = series;
  const { fromMs, toMs, columns, gapMs } = view;
  const start = Math.max(0, lowerBound(atMs, fromMs) - 1);
  const end = Math.min(atMs.length, lowerBound(atMs, toMs) + 1);
  const perMs = columns / (toMs - fromMs);
  const drawn: PixelColumn[] = [];
  let at = Number.NaN;
  let entry = { column: 0, low: 0, high: 0, first: 0, last: 0, isBroken: false };
  for (let i = start; i < end; i++) {
    const column = Math.min(columns, Math.max(-1, Math.floor((atMs[i]! - fromMs) * perMs)));
    const isBroken = i > start && atMs[i]! - atMs[i - 1]! > gapMs;
    if (column === at && !(isBroken && gapMs * perMs > 1)) {
      if (low[i]! < entry.low) entry.low = low[i]!;
      if (high[i]! > entry.high) entry.high = high[i]!;
      entry.last = mean[i]!;
      continue;
    }
    if (!Number.isNaN(at)) drawn.push(entry);
    at = column;
    entry = {
      column,
      low: low[i]!,
      high: high[i]!,
      first: mean[i]!,
      last: mean[i]!,
      isBroken,
    };
  }
  if (!Number.isNaN(at)) drawn.push(entry);
  return drawn;
}

/** The nearest point in time. @returns undefined when it lies further off than `withinMs` */
export function nearestIndex(atMs: Float64Array, ms: number, withinMs: number): number | undefined {
  const right = lowerBound(atMs, ms);
  const candidates = [right - 1, right].filter((i) => i >= 0 && i < atMs.length);
  const best = candidates.sort((a, b) => Math.abs(atMs[a]! - ms) - Math.abs(atMs[b]! - ms))[0];
  return best === undefined || Math.abs(atMs[best]! - ms) > withinMs ? undefined : best;
}
