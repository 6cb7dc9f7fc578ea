import type {
  AcceptedGap,
  Alert,
  Diagnosis,
  FieldNode,
  MetricKey,
  NodeEvent,
  NodeId,
  NodeInterval,
  Part,
  Site,
} from '@duskline/domain';
import type { NamedPerson } from './hide-names.ts';

/** A sample with its numbers and times as the database writes them. See ExportSample of the store. */
export interface SourceSample {
  /** `2026-11-25 12:00:00.5+00`. */
  readonly at: string;
  readonly received: string;
  readonly layoutId: number;
  readonly timeQuality: number | null;
  /** `{12.81,0.3}`. */
  readonly values: string;
  readonly flags: string | null;
  readonly tests: string | null;
  readonly stale: boolean;
  readonly card: boolean;
}

export interface SourceOutlook {
  readonly issuedAtMs: number;
  readonly hindcast: boolean;
  readonly dark: boolean;
  readonly kind: string;
  readonly horizonDays: number;
  readonly p10Days: number | null;
  readonly p50Days: number | null;
  readonly p90Days: number | null;
  readonly darkWithin3Days: number | null;
  readonly darkWithin7Days: number | null;
  readonly darkWithin14Days: number | null;
  readonly model: string;
}

/** One test with its limits, for a node. */
export interface SourceRule {
  readonly test: string;
  readonly says: string;
  readonly source: string;
  readonly limits: readonly { readonly metric: MetricKey; readonly limit: string }[];
}

/** The tests with the limits for readings observed in [fromMs, toMs); −∞ and ∞ where an end is open. */
export interface SourceRuleEra {
  readonly fromMs: number;
  readonly toMs: number;
  readonly rules: readonly SourceRule[];
}

/** A site with its node, if it has one. */
export interface ExportSite {
  readonly site: Site;
  readonly node?: FieldNode;
}

/** Where an export reads from: one site after the other, nothing kept in memory but the site at work. */
export interface ExportSource {
  /** By id. */
  readonly sites: readonly ExportSite[];
  /** Everybody who has or had an account. */
  readonly people: readonly NamedPerson[];
  readonly layouts: ReadonlyMap<number, readonly (MetricKey | undefined)[]>;
  counts(
    nodeId: NodeId,
  ): Promise<readonly { readonly layoutId: number; readonly samples: number }[]>;
  /** By time and layout, in pages. */
  samples(nodeId: NodeId): AsyncIterable<readonly SourceSample[]>;
  parts(site: Site): Promise<readonly Part[]>;
  /** That touch the export's range, oldest first. */
  intervals(nodeId: NodeId): Promise<readonly NodeInterval[]>;
  acceptedGaps(site: Site): Promise<readonly AcceptedGap[]>;
  /** Of the logbook, oldest first. */
  events(site: Site): Promise<readonly NodeEvent[]>;
  alerts(site: Site): Promise<readonly Alert[]>;
  /** Oldest first, without a gap. */
  rules(nodeId: NodeId): Promise<readonly SourceRuleEra[]>;
  outlooks(nodeId: NodeId): Promise<readonly SourceOutlook[]>;
  silence(nodeId: NodeId): Promise<Diagnosis | undefined>;
}

/** What an export says of itself, fixed when it was asked for. */
export interface ExportFrame {
  /** `name_site-or-fleet_from_to_vN`, without ending. */
  readonly name: string;
  readonly version: number;
  readonly madeAtMs: number;
  readonly by: string;
  /** What was asked for, as JSON. */
  readonly query: string;
  readonly citation: string;
}
