import type { NodeInterval, NodeState } from '@duskline/domain';

/** An interval as it lies in the store; `to_at` null: still so. */
export interface IntervalRow {
  readonly state: NodeState;
  readonly from_at: number;
  readonly to_at: number | null;
  readonly cause: string;
  readonly evidence: readonly string[];
}

export const intervalOf = (row: IntervalRow): NodeInterval => ({
  state: row.state,
  fromMs: row.from_at,
  ...(row.to_at === null ? {} : { toMs: row.to_at }),
  cause: row.cause,
  evidence: row.evidence,
});
