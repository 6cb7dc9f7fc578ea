import type { FieldNode, Site } from '@duskline/domain';
import type { DaySigns } from './day-signs.ts';
import type { ShadeNotch } from './shade-notch.ts';

/** All that speaks for or against the causes of poor charging or of a high load. */
export interface PowerSeen {
  readonly nowMs: number;
  readonly site: Site;
  readonly node: FieldNode;
  /** Oldest first, today's unfinished day left out. */
  readonly days: readonly DaySigns[];
  /** Daylight hours for which the panel's voltage has been away, up to now; undefined while it is there (see `voltageGoneHours`). */
  readonly voltageGoneHours?: number;
  /** Since when nothing has come in, and for how many daylight hours, up to now; undefined while something comes (see `harvestGone`). */
  readonly harvestGone?: { readonly sinceMs: number; readonly hours: number };
  /** Median over the last three judged days (of five), and over the 14 before them: own yield against the other sites' (or the sky). */
  readonly recentYield?: number;
  readonly usualYield?: number;
  /** recent ÷ usual; 1 = as ever. */
  readonly yieldChange?: number;
  /** Recent yield ÷ that of its best week of the record, both against the other sites; 1 = as clean as it was. */
  readonly yieldAgainstBest?: number;
  /** Change of the yield per day over the last 21 days, as a share of the usual yield. */
  readonly yieldSlopePerDay?: number;
  readonly notch?: ShadeNotch;
  /** How much more the afternoons gained than the mornings, lately against before; 1 = alike. */
  readonly afternoonGain?: number;
  /** Recent mean load ÷ usual load. */
  readonly loadChange?: number;
  readonly recentLoadW?: number;
  readonly usualLoadW?: number;
  /** Days since rain of at least 6 mm in a day. */
  readonly dryDays?: number;
  /** In daylight of the last three days there may have been snow on the panel (see `snowLying`). */
  readonly snowLikely?: boolean;
  /** Median yield of the other sites in the last three days; 1 = cloudless. */
  readonly peerYield?: number;
  /** Learnt present capacity ÷ rated, and inner resistance ÷ that of a new battery. */
  readonly capacityShare?: number;
  readonly resistanceShare?: number;
}
