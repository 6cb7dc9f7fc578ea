import type {
  ChargeEstimate,
  HourlyHistory,
  NodeId,
  Outlook,
  Position,
  PowerSystem,
} from '@duskline/domain';
import type { OutlookKey } from './outlook-key.ts';
import type { ScoreRow, ScoreSeed } from './score-store.ts';

export type { OutlookKey } from './outlook-key.ts';

export interface OutlookStore {
  /** The last issued; what was computed afterwards for a past instant is not counted. */
  latest(nodeId: NodeId): Promise<Outlook | undefined>;
  /** When the last of any node was issued, hindcasts not counted. */
  newestAtMs(): Promise<number | undefined>;
  /** The last issued while the node was not dark. */
  lastAlive(nodeId: NodeId): Promise<Outlook | undefined>;
  /** The first issued for the darkness that began at `sinceMs`: its window knows nothing later. */
  firstDark(nodeId: NodeId, sinceMs: number): Promise<Outlook | undefined>;
  /** Those issued in [fromMs, toMs), hindcasts among them, the newest first. */
  list(
    nodeId: NodeId,
    range: { readonly fromMs: number; readonly toMs: number; readonly limit: number },
  ): Promise<readonly OutlookRecord[]>;
  find(nodeId: NodeId, at: OutlookKey): Promise<OutlookRecord | undefined>;
  /** What it was made of; undefined when it was issued before that was kept. */
  inputs(nodeId: NodeId, at: OutlookKey): Promise<OutlookInputs | undefined>;
  /** Keeps outlooks computed afterwards for past instants, without a look at the node. */
  keepHindcasts(nodeId: NodeId, outlooks: readonly IssuedOutlook[]): Promise<void>;
}

export interface OutlookRecord extends OutlookKey {
  readonly outlook: Outlook;
  /** Whether what it was made of is kept. */
  readonly reproducible: boolean;
  /** How it turned out; undefined: it is not scored, or not yet. */
  readonly graded?: Pick<ScoreRow, 'happened7' | 'outcome' | 'outcomeDays' | 'figures'>;
}

/** What an outlook was made of, beside its history. Its seed and model stand in the outlook. */
export interface OutlookFacts {
  readonly nowMs: number;
  readonly seed: number;
  readonly position: Position;
  readonly power: PowerSystem;
  readonly charge?: ChargeEstimate;
  readonly dark?: { readonly sinceMs: number; readonly chargeRatio: number };
  /** What else the forecaster was given, as JSON. */
  readonly more?: unknown;
}

export interface OutlookInputs {
  readonly history: HourlyHistory;
  /** Which state of learning; see LearntStore.asOf. */
  readonly learntAtMs?: number;
  /** Which outside forecast. */
  readonly outsideId?: string;
  readonly facts: OutlookFacts;
}

/** An outlook to keep. `hindcast`: computed afterwards for a past instant, from what was known then. */
export interface IssuedOutlook {
  readonly outlook: Outlook;
  readonly hindcast: boolean;
  readonly inputs?: OutlookInputs;
  readonly score?: ScoreSeed;
}
