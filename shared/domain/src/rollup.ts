import type { MetricKey } from './metric-catalogue.ts';

/** One hour (or day) of one metric. */
export interface Rollup {
  readonly metric: MetricKey;
  readonly startMs: number;
  readonly count: number;
  readonly sum: number;
  readonly min: number;
  readonly max: number;
  readonly last: number;
  /** Of directions: the sums of their sines and cosines, from which the mean direction follows. */
  readonly vector?: { readonly east: number; readonly north: number };
}

/**
 * The node's past by the hour, aligned: index i is the hour starting at startMs + i · 1 h; null where nothing was read.
 */
export interface HourlyHistory {
  readonly startMs: number;
  readonly panelW: readonly (number | null)[];
  readonly loadW: readonly (number | null)[];
  readonly chargeRatio: readonly (number | null)[];
  readonly batteryV: readonly (number | null)[];
  /** Positive = charging. */
  readonly batteryA: readonly (number | null)[];
  readonly batteryC: readonly (number | null)[];
  readonly airC: readonly (number | null)[];
}

/** The latest value of one metric. */
export interface LatestReading {
  readonly metric: MetricKey;
  readonly observedAtMs: number;
  readonly value: number;
}

/** Energy of one solar day of a site. */
export interface DayBalance {
  readonly dayStartMs: number;
  readonly harvestWh?: number;
  readonly loadWh?: number;
  /** Hours of the day that were heard, 0–24: of an hour with silence in it the part that has readings. */
  readonly hoursHeard: number;
}
