import type { SitePageJson } from '@duskline/contract';
import { instantMs, instantMsOr } from '../format/time.ts';

/** One metric over a stretch of time. */
export interface ReplayLine {
  readonly metric: string;
  readonly label: string;
  readonly unit: string;
  readonly gapMs: number;
  readonly points: readonly { readonly atMs: number; readonly value: number }[];
}

/** The value at a moment, or undefined in a gap. */
export function valueOf(line: ReplayLine | undefined, atMs: number): number | undefined {
  if (line === undefined) return undefined;
  let best: ReplayLine['points'][number] | undefined;
  for (const point of line.points) {
    if (best === undefined || Math.abs(point.atMs - atMs) < Math.abs(best.atMs - atMs))
      best = point;
    if (point.atMs > atMs) break;
  }
  return best === undefined || Math.abs(best.atMs - atMs) > line.gapMs ? undefined : best.value;
}

/** The stretch of the node's life a moment lies in. */
export const intervalAt = (
  intervals: SitePageJson['intervals'],
  atMs: number,
): SitePageJson['intervals'][number] | undefined =>
  intervals.find(({ from, to }) => instantMs(from) <= atMs && atMs < instantMsOr(to, Infinity));

/** Alerts in rows so that none lies over another; the oldest on top. */
export function stacked<T extends { readonly openedAt: string; readonly endedAt: string | null }>(
  alerts: readonly T[],
): readonly (readonly T[])[] {
  const rows: T[][] = [];
  for (const alert of alerts) {
    const free = rows.find((row) => {
      const last = row.at(-1);
      return last !== undefined && instantMsOr(last.endedAt, Infinity) <= instantMs(alert.openedAt);
    });
    if (free === undefined) rows.push([alert]);
    else free.push(alert);
  }
  return rows;
}
