import type { NodeName } from './ids.ts';
import type { MetricKey } from './metric-catalogue.ts';
import type { SettingsInForce } from './node-settings.ts';

/** How far the time of a reading can be trusted. */
export const timeQualities = ['synced', 'held-over', 're-dated', 'unsure'] as const;
export type TimeQuality = (typeof timeQualities)[number];

/** The readings of one node at one observed time, stored as one row. `metrics[i]` is what `values[i]` measures. */
export interface Sample {
  readonly observedAtMs: number;
  /** Sorted, without repeats: the layout of the row. */
  readonly metrics: readonly MetricKey[];
  /** Finite, in the unit of the catalogue. */
  readonly values: readonly number[];
  readonly timeQuality: TimeQuality;
  /** The time as the node said it, in SenML seconds, where `observedAtMs` is another: below 2^28 counted from receipt. */
  readonly saidTimeS?: number;
}

/** By which lane a message came: fresh, or the past being caught up on. */
export type Lane = 'live' | 'backlog';

/** Where a message stands in its node's life: boot number and number within that boot (from 1). */
export interface MessagePlace {
  readonly boot: number;
  readonly seq: number;
}

/** What a node says of itself beside its readings. */
export type NodeWord =
  | { readonly kind: 'hello'; readonly atMs: number; readonly bootCause?: string }
  | {
      readonly kind: 'farewell';
      readonly atMs: number;
      readonly reason: string;
      readonly chargeRatio?: number;
    }
  /** The broker's word, not the node's: the link dropped without a farewell. */
  | { readonly kind: 'dropped'; readonly atMs: number };

/** A message decoded, dated and checked: ready to be stored. */
export interface AcceptedMessage {
  readonly node: NodeName;
  readonly lane: Lane;
  readonly receivedAtMs: number;
  readonly place?: MessagePlace;
  readonly samples: readonly Sample[];
  readonly word?: NodeWord;
  /** The node's answer to a request of other settings. */
  readonly settings?: SettingsInForce;
}
