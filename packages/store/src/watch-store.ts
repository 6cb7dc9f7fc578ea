import type {
  AcceptedGap,
  Diagnosis,
  NodeEvent,
  NodeId,
  RuleSettings,
  SiteId,
} from '@duskline/domain';

/** The logbook. */
export interface EventStore {
  /** Of [fromMs, toMs), the latest first. */
  list(
    siteId: SiteId,
    range: { readonly fromMs: number; readonly toMs: number; readonly limit: number },
  ): Promise<readonly NodeEvent[]>;
  add(event: NodeEvent): Promise<void>;
}

export interface AcceptedGapStore {
  /** Not over at `nowMs`, of every site or of one; those that begin later included. */
  list(nowMs: number, siteId?: SiteId): Promise<readonly AcceptedGap[]>;
  /** Those that touch [fromMs, toMs), ended or not. */
  between(siteId: SiteId, fromMs: number, toMs: number): Promise<readonly AcceptedGap[]>;
  accept(gap: Omit<AcceptedGap, 'id' | 'endedAtMs'>): Promise<AcceptedGap>;
  /** @returns undefined when there is none, or it has ended */
  end(id: string, nowMs: number): Promise<AcceptedGap | undefined>;
}

export type SettingScope = 'fleet' | 'site' | 'node';

/** One value as somebody set it. */
export interface RuleSettingEntry {
  readonly scope: SettingScope;
  /** Site id or node number; empty for the fleet. */
  readonly subject: string;
  readonly rule: string;
  readonly setting: string;
  /** Null: the default again. */
  readonly value: number | null;
  readonly by: string;
  readonly atMs: number;
}

export interface RuleSettingStore {
  /** What holds for a node: its own before its site's before the fleet's. */
  of(node: { readonly id: NodeId; readonly siteId: SiteId }): Promise<RuleSettings>;
  /** What holds for the fleet's own rules. */
  ofFleet(): Promise<RuleSettings>;
  /** The values in force, everywhere. */
  inForce(): Promise<readonly RuleSettingEntry[]>;
  /** Every change, the latest first. */
  history(limit: number): Promise<readonly RuleSettingEntry[]>;
  set(entry: RuleSettingEntry): Promise<void>;
}

export interface DiagnosisStore {
  of(nodeId: NodeId): Promise<{ readonly silence?: Diagnosis; readonly power?: Diagnosis }>;
}
