import type { RoundsJson } from '@duskline/contract';

/** What must be known of a site to plan a visit there; a field sheet has it, and so has a line of Rounds. */
export type PlanStop = Pick<
  RoundsJson['sites'][number],
  'siteId' | 'siteName' | 'timeZone' | 'need' | 'daylight'
> & { readonly purpose?: string };

/** What the form of a visit says. */
export interface PlannedTrip {
  /** When to set out for each stop, ms, in driving order. */
  readonly timesMs: readonly [number, ...number[]];
  readonly why: string;
  /** Undefined: whoever asks. */
  readonly personId: string | undefined;
}
