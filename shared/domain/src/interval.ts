import type { NodeState } from './node-state.ts';

/** A stretch of one node's life in one state: data and gaps always add up to the whole period. */
export interface NodeInterval {
  readonly state: NodeState;
  readonly fromMs: number;
  /** Undefined: still so. */
  readonly toMs?: number;
  readonly cause: string;
  readonly evidence: readonly string[];
}
