import type {
  Alert,
  ChargeEstimate,
  Diagnosis,
  ExpectedWindow,
  FieldNode,
  LatestReading,
  MetricKey,
  Outlook,
  PowerFigures,
  RuleKey,
  RuleSettings,
  Site,
  StateVerdict,
} from '@duskline/domain';

/** How the node's own housekeeping stands. Absent: not reported. */
export interface HousekeepingFigures {
  readonly bootsIn24h?: number;
  /** Stops and returns less than six hours apart, within two days. */
  readonly shortDarks?: number;
  /** The last time it was dark by its own design or overdue, within two days; without an end until it is looked at again. */
  readonly darkness?: { readonly fromMs: number; readonly endedAtMs?: number };
  readonly clockOffsetS?: number;
  readonly clockSource?: 'network' | 'satellite' | 'battery-clock' | 'none';
  readonly sendsRelativeTimes?: boolean;
  readonly storageDaysToFull?: number;
  readonly storageErrors?: number;
  readonly storageReadOnly?: boolean;
  readonly signalChangeDb?: number;
  readonly backlogHours?: number;
  readonly data?: {
    readonly usedBytes: number;
    readonly expectedBytes: number;
    readonly capBytes: number;
    readonly renewsAtMs: number;
  };
  readonly settingsRequest?: {
    readonly requestedAtMs: number;
    readonly firstContactAtMs?: number;
    readonly inForce: boolean;
    readonly says: string;
  };
  /** Metrics whose readings of the last day failed their tests. */
  readonly sensors?: readonly {
    readonly metric: MetricKey;
    readonly badShare: number;
    readonly why: string;
    readonly drifts?: boolean;
  }[];
  /** A panel gone in one step, an opened box, a moved mast. */
  readonly tamper?: { readonly atMs: number; readonly says: string };
}

/** What the rules look at, for one node at one moment. */
export interface RuleFacts {
  readonly nowMs: number;
  readonly site: Site;
  readonly node: FieldNode;
  readonly verdict: StateVerdict;
  readonly charge?: ChargeEstimate;
  readonly outlook?: Outlook;
  readonly lastHeardAtMs?: number;
  readonly latest?: readonly LatestReading[];
  readonly silence?: Diagnosis;
  readonly power?: Diagnosis;
  readonly figures?: PowerFigures;
  readonly housekeeping?: HousekeepingFigures;
  /** Given as it went dark: its end makes it overdue. */
  readonly firstWindow?: ExpectedWindow;
  /** Bright hours since the end of the window in which a dark node was expected back. */
  readonly brightHoursOverdue?: number;
  /** A coordinator accepts that the site is dark: until when, and who. */
  readonly acceptedGap?: { readonly untilMs: number; readonly by: string };
  readonly visitUnderWay?: boolean;
  /** No daylight is left there: it gets light then. Undefined while there is, or where it is not known. */
  readonly firstLightMs?: number;
  /** Marked by the coordinator: its silence may wake somebody. */
  readonly critical?: boolean;
  /** Open alerts of this node, and of the fleet where they cover this node. */
  readonly openAlerts?: readonly Alert[];
  readonly fleetRules?: readonly RuleKey[];
  /** Merged: fleet, then site, then node. */
  readonly settings?: RuleSettings;
}

/** Nothing is raised from readings older than this (design choice of the trade table's common rules). */
export const FRESH_MS = 2 * 3_600_000;

/** The latest value of a metric, when it is fresh enough to judge by. */
export function freshValue(facts: RuleFacts, metric: MetricKey): number | undefined {
  const reading = facts.latest?.find((one) => one.metric === metric);
  return reading === undefined || facts.nowMs - reading.observedAtMs > FRESH_MS
    ? undefined
    : reading.value;
}
