import type { MetricKey, NodeId, RuleKey, SiteId } from '@duskline/domain';

/** Share (0–1.5) of a cloudless harvest that one solar day had, in the hours in which the battery could take it. */
export interface YieldDay {
  /** Days of local mean solar time since 1970. */
  readonly day: number;
  readonly ratio: number;
}

/** How readings of one metric fared in their tests. */
export interface MetricFate {
  readonly metric: MetricKey;
  readonly count: number;
  /** Suspect or failed. */
  readonly bad: number;
}

/** One node as the rules about the fleet see it. */
export interface FleetPulse {
  readonly nodeId: NodeId;
  readonly siteId: SiteId;
  readonly siteName: string;
  readonly state?: string;
  readonly link?: string;
  readonly lastHeardAtMs?: number;
  readonly usualGapMs: number;
  readonly lastOutlookAtMs?: number;
  readonly lastObservedAtMs?: number;
  /** Chances (0–1) of its newest outlook, where that could be made. */
  readonly ahead?: {
    readonly darkWithin3DaysProbability: number;
    readonly darkWithin7DaysProbability: number;
    readonly darkWithin14DaysProbability: number;
  };
  /** The rules whose alerts about it are open. */
  readonly openRules: readonly RuleKey[];
  /** Somebody accepts that the site is dark now. */
  readonly isAcceptedDark: boolean;
}

/** What diagnosis and rules ask of the past, beside the hourly history. */
export interface SignStore {
  /** Hourly means (sums for rain) of these metrics, aligned: index i is the hour starting at the hour of `fromMs` + i. */
  hours(
    nodeId: NodeId,
    metrics: readonly MetricKey[],
    range: { readonly fromMs: number; readonly toMs: number },
  ): Promise<ReadonlyMap<MetricKey, readonly (number | null)[]>>;
  /** The lowest value of each hour, in the same shape. */
  hourlyLows(
    nodeId: NodeId,
    metric: MetricKey,
    range: { readonly fromMs: number; readonly toMs: number },
  ): Promise<readonly (number | null)[]>;
  /** Its own yields by day. */
  yields(nodeId: NodeId, fromDay: number): Promise<ReadonlyMap<number, number>>;
  /** Median yield of the other nodes by day, where at least three of them have one. */
  peerYields(nodeId: NodeId, fromDay: number): Promise<ReadonlyMap<number, number>>;
  /** Of the readings observed since then. */
  fates(nodeId: NodeId, sinceMs: number): Promise<readonly MetricFate[]>;
  /** Messages of this node in quarantine for their date, received since. */
  misdated(nodeName: string, sinceMs: number): Promise<number>;
  /**
   * Did it send readings since then whose time cannot be trusted, because its clock was never set? Those dated within two days
   * before are looked at. The latest values hold none of them.
   */
  sentUnsure(nodeId: NodeId, sinceMs: number): Promise<boolean>;
  /** Every node in service, as it stands now. */
  fleet(nowMs: number): Promise<readonly FleetPulse[]>;
}
