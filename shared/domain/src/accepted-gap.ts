import type { SiteId } from './ids.ts';

/** A coordinator accepts that a site is dark for a while: its alerts are quiet by design, and the year's report says so. */
export interface AcceptedGap {
  readonly id: string;
  readonly siteId: SiteId;
  readonly fromMs: number;
  /** Never without an end: then it is looked at again. */
  readonly untilMs: number;
  readonly by: string;
  readonly reason: string;
  readonly endedAtMs?: number;
}
