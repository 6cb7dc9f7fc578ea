import type { NodeId } from '@duskline/domain';

/** What was learnt of a node, as JSON whose shape is the forecaster's. */
export interface LearntRecord {
  readonly learntAtMs: number;
  readonly body: unknown;
}

/** Somebody had a part of it learnt anew. */
export interface LearntReset {
  readonly part: string;
  /** Only what was read from here on counts. */
  readonly sinceMs: number;
  readonly atMs: number;
  readonly by: string;
  readonly why: string;
}

export interface LearntStore {
  /** The newest. */
  of(nodeId: NodeId): Promise<LearntRecord | undefined>;
  /** As it was learnt at exactly that instant. */
  asOf(nodeId: NodeId, learntAtMs: number): Promise<LearntRecord | undefined>;
  /** The latest first. */
  resets(nodeId: NodeId): Promise<readonly LearntReset[]>;
  /** Puts `body` in place of what was learnt and notes who did so and why. */
  reset(nodeId: NodeId, reset: LearntReset, body: unknown): Promise<void>;
}
