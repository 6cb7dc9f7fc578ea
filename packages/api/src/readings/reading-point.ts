import type { KnownReading } from '../api-deps.ts';

/** What was read in one step. */
export interface ReadingPoint {
  /** Start of the step. */
  readonly atMs: number;
  readonly mean: number;
  readonly min: number;
  readonly max: number;
  readonly count: number;
  /** Of a single reading, what else is known of it. */
  readonly known?: Pick<
    KnownReading,
    'flag' | 'timeQuality' | 'tests' | 'receivedAtMs' | 'saidTimeS'
  >;
}
