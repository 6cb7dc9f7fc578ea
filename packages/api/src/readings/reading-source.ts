import { DAY_MS, HOUR_MS, MINUTE_MS, SECOND_MS } from '@duskline/domain';

export type ReadingSource = 'raw' | 'hour' | 'day';

export interface ReadingRange {
  readonly fromMs: number;
  /** After fromMs. */
  readonly toMs: number;
  /** The most points wanted, ≥ 2. */
  readonly points: number;
}

/** Reading this many rows takes some tens of milliseconds; beyond it the hours that are summed up already are nearer. */
export const MOST_RAW_ROWS = 20_000;

/** So many hours are read in some tens of milliseconds: twenty months. */
const MOST_HOURS = 15_000;

/**
 * What a chart of that range is made of: single readings while they are few enough to be read, else hours, several
 * of them to a point where they are many, else solar days.
 *
 * @param usualGapS the node's usual gap between readings, > 0
 */
export function readingSource(range: ReadingRange, usualGapS: number): ReadingSource {
  const spanMs = range.toMs - range.fromMs;
  if (spanMs / (usualGapS * SECOND_MS) <= MOST_RAW_ROWS) return 'raw';
  return rollupGrain(range);
}

/** Of what a range is made that has too many single readings. */
export const rollupGrain = ({ fromMs, toMs }: ReadingRange): 'hour' | 'day' =>
  (toMs - fromMs) / HOUR_MS <= MOST_HOURS ? 'hour' : 'day';

/** Steps that people divide time by. Beyond the last, whole multiples of a day. */
const STEPS_MS = [
  ...[1, 2, 5, 10, 15, 30].map((seconds) => seconds * SECOND_MS),
  ...[1, 2, 5, 10, 15, 20, 30].map((minutes) => minutes * MINUTE_MS),
  ...[1, 2, 3, 6, 12].map((hours) => hours * HOUR_MS),
];

/**
 * The shortest step, not below `atLeastMs`, with which the range has no more than the wanted number of steps, one cut
 * off at an end included.
 */
export function stepMsFor(range: ReadingRange, atLeastMs: number): number {
  const spanMs = range.toMs - range.fromMs;
  const step = STEPS_MS.find((ms) => ms >= atLeastMs && fits(spanMs, ms, range.points));
  return step ?? DAY_MS * Math.max(1, Math.ceil(spanMs / DAY_MS / (range.points - 1)));
}

/** A span that does not start at a step touches one more. */
const fits = (spanMs: number, stepMs: number, points: number): boolean =>
  Math.ceil(spanMs / stepMs) + 1 <= points;
