import type {
  ChargeEstimate,
  Diagnosis,
  ExpectedWindow,
  FieldNode,
  HarvestStop,
  NodeWord,
  Outlook,
  Site,
} from '@duskline/domain';

/** All that is known of a node when its state is judged. */
export interface StateFacts {
  readonly nowMs: number;
  readonly site: Site;
  readonly node: FieldNode;
  readonly firstHeardAtMs?: number;
  /** When it last was alive: its newest live message, or the newest reading of a backlog. */
  readonly lastHeardAtMs?: number;
  /** When the server last received anything of it, the past included. */
  readonly lastReceivedAtMs?: number;
  /** When the newest of its readings was observed. */
  readonly lastObservedAtMs?: number;
  /** The last thing it said of itself. */
  readonly lastWord?: NodeWord;
  /** Charge as of its last readings. */
  readonly charge?: ChargeEstimate;
  /** The last outlook issued while it was heard. */
  readonly outlookBefore?: Outlook;
  /** The window issued when it went dark, with nothing known later: it alone can make a node overdue. */
  readonly firstWindow?: ExpectedWindow;
  /** When somebody is told that it is overdue, if it stays dark. */
  readonly toldOverdueAtMs?: number;
  /** Its harvest cannot reach the battery and will not by itself (see `harvestStop`): neither sun nor time brings it back. */
  readonly harvestStop?: HarvestStop;
  /** The ranked causes of its silence, where they were weighed. */
  readonly silence?: Diagnosis;
  /** The other nodes: how many should be up, and how many of them were heard lately. */
  readonly others: { readonly expected: number; readonly heard: number };
}

/** Silence is judged after three usual gaps, and never before two hours (trade practice, no source). */
export function silentAfterMs(node: FieldNode): number {
  return Math.max(3 * node.power.usualGapS * 1000, 2 * 3_600_000);
}
