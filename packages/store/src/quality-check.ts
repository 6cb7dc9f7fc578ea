import type { LimitOverrides, NodeId, QualityFlag, Sample, TimedOverrides } from '@duskline/domain';

/** A sample as it lies in the store, for the tests of its readings. */
export interface StoredSample extends Pick<
  Sample,
  'observedAtMs' | 'metrics' | 'values' | 'timeQuality'
> {
  readonly receivedAtMs: number;
  readonly layoutId: number;
}

/** What the tests say of it. `flags[i]` and `tests[i]` (bits, see testMask) belong to `values[i]`. */
export interface CheckedSample {
  readonly sample: StoredSample;
  readonly flags: readonly QualityFlag[];
  readonly tests: readonly number[];
}

/** The tests of one node's readings, passed in: the store knows no limits. */
export interface QualityCheck {
  /** What lies so long before a reading, or one `gapMs` after it, may bear on its flags. */
  readonly reachMs: number;
  readonly gapMs: number;
  /**
   * Must follow from the samples alone.
   *
   * @param samples by time, then layout
   * @param span    what lies outside need not be tested
   * @returns one for each sample, in the same order
   */
  readonly check: (
    samples: readonly StoredSample[],
    span: { readonly fromMs: number; readonly toMs: number },
  ) => readonly CheckedSample[];
}

export interface LimitSetting {
  readonly limits: LimitOverrides;
  readonly setBy: string;
  readonly setAtMs: number;
}

export type LimitScope =
  | { readonly kind: 'site'; readonly name: string }
  | { readonly kind: 'node'; readonly name: string }
  | { readonly kind: 'part'; readonly id: string };

export interface QualityLimitStore {
  find(scope: LimitScope): Promise<LimitSetting | undefined>;
  /**
   * Of the node's site, then its own, then of the parts of the site by when they were fitted: the more particular last. Those
   * of a part hold for the time it was at the site; of a part that was taken out, too.
   */
  inForce(node: NodeId): Promise<readonly TimedOverrides[]>;
  /**
   * Keeps them, and marks the hours concerned to be tested again: every hour of the node or of the site's nodes, of a part the
   * hours of its life at the site.
   */
  set(scope: LimitScope, setting: LimitSetting): Promise<void>;
}
