import type { NodeId } from '@duskline/domain';
import type { OutlookKey } from './outlook-key.ts';

/** What is kept of an outlook so that it can be graded when its time has come. */
export interface ScoreSeed {
  readonly of: 'empty' | 'return';
  readonly dueAtMs: number;
  readonly horizonDays: number;
  /** Equally likely days, ascending; Infinity: beyond the horizon. */
  readonly days: readonly number[];
  readonly rawChance7: number;
  /** As it was shown. */
  readonly chance7: number;
  /** What the simple ways said at the same moment, as JSON. */
  readonly baselines: unknown;
}

export interface OpenScore extends OutlookKey {
  readonly of: ScoreSeed['of'];
  readonly dueAtMs: number;
  readonly horizonDays: number;
  readonly days: readonly number[];
  readonly chance7: number;
  readonly baselines: unknown;
}

/** What one look at an open score found. */
export interface Grade extends OutlookKey {
  readonly gradedAtMs: number;
  /** Undefined: nothing more is to come. */
  readonly nextDueAtMs?: number;
  readonly happened7?: boolean;
  /** Undefined: still open. `unknown`: nothing was heard, so nobody can say. */
  readonly outcome?: 'happened' | 'did-not' | 'unknown';
  readonly outcomeDays?: number;
  readonly figures?: unknown;
}

export interface ScoreRow extends OutlookKey {
  readonly nodeId: NodeId;
  readonly of: ScoreSeed['of'];
  readonly horizonDays: number;
  readonly rawChance7: number;
  readonly chance7: number;
  readonly happened7?: boolean;
  readonly outcome?: 'happened' | 'did-not' | 'unknown';
  readonly outcomeDays?: number;
  readonly figures?: unknown;
}

/** The fleet's correction of its chances, as JSON. */
export interface Recalibration {
  readonly fittedAtMs: number;
  readonly outcomes: number;
  readonly body: unknown;
}

export interface ScoreStore {
  /** Nodes with outlooks whose time has come, the longest waiting first. */
  nodesDue(nowMs: number, limit: number): Promise<readonly NodeId[]>;
  /** Not yet graded to the end, oldest first. */
  open(nodeId: NodeId, limit: number): Promise<readonly OpenScore[]>;
  /** Each outlook is graded to its end once: one that is, stays. @returns how many were changed */
  grade(nodeId: NodeId, grades: readonly Grade[]): Promise<number>;
  /** The first outlook of each node and UTC day, issued in [fromMs, toMs). */
  daily(range: {
    readonly fromMs: number;
    readonly toMs: number;
    readonly nodeId?: NodeId;
  }): Promise<readonly ScoreRow[]>;
  recalibration(): Promise<Recalibration | undefined>;
  keepRecalibration(recalibration: Recalibration): Promise<void>;
  /** Nodes more of whose past is known than hindcasts were issued for. */
  hindcastTodo(limit: number): Promise<
    readonly {
      readonly nodeId: NodeId;
      readonly daysKnown: number;
      readonly firstAtMs: number;
    }[]
  >;
  /** UTC days since 1970 on which a scored outlook was issued. */
  issuedDays(nodeId: NodeId): Promise<readonly number[]>;
  markHindcasts(nodeId: NodeId, daysKnown: number, nowMs: number): Promise<void>;
}
