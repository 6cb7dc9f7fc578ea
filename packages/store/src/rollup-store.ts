import type { HourlyHistory, MetricKey, NodeId, Rollup } from '@duskline/domain';
import type { QualityCheck } from './quality-check.ts';

export interface RollupRange {
  readonly fromMs: number;
  readonly toMs: number;
  readonly grain: 'hour' | 'day';
  /** 1: passed or not tested; 3: suspect; 4: failed. */
  readonly quality?: readonly (1 | 3 | 4)[];
}

export interface RollupStore {
  /**
   * Tests the readings of the hours whose samples changed, and recomputes those hours and their days.
   *
   * @param prepare asked for the tests when there is something to test; without it flags stay as they are
   * @returns hours refreshed
   */
  refresh(nodeId: NodeId, prepare?: () => Promise<QualityCheck>): Promise<number>;
  /** Hours or days that start in [fromMs, toMs), oldest first, of readings of that quality (default: 1, not doubted). */
  series(nodeId: NodeId, metric: MetricKey, range: RollupRange): Promise<readonly Rollup[]>;
  /** Readings in the hours or days that start in [fromMs, toMs), by quality. */
  counts(
    nodeId: NodeId,
    metric: MetricKey,
    range: Omit<RollupRange, 'quality'>,
  ): Promise<{ readonly pass: number; readonly suspect: number; readonly fail: number }>;
  /** Whole hours: from the hour of `fromMs` to the hour before `toMs`'s end. */
  hourly(nodeId: NodeId, fromMs: number, toMs: number): Promise<HourlyHistory>;
}
