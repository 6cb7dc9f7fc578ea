import { HOUR_MS, MINUTE_MS } from './duration.ts';
import type { SiteId } from './ids.ts';
import type { VisitState } from './visit.ts';

/** Clocks differ by so much, and a form is filled in for so long: what was planned for no longer ago is planned for now. */
export const PLAN_SLACK_MS = 5 * MINUTE_MS;
/** Who does not set out to the minute is awaited for so long; after it nobody knows what became of the visit (our choice). */
const AWAITED_MS = 2 * HOUR_MS;

/** May no visit be planned for that time any more? */
export const isPastPlan = (plannedAtMs: number, nowMs: number): boolean =>
  !(plannedAtMs >= nowMs - PLAN_SLACK_MS);

/** What a visit says of itself to tell whether it is awaited. */
export interface PlannedVisit {
  readonly siteId: SiteId | string;
  readonly state: VisitState;
  /** When they mean to set out. */
  readonly plannedAtMs: number;
}

/** Its time is over, nobody set out, and nobody called it off. */
export const isUntold = (
  { state, plannedAtMs }: Pick<PlannedVisit, 'state' | 'plannedAtMs'>,
  nowMs: number,
): boolean => state === 'planned' && plannedAtMs < nowMs - AWAITED_MS;

/** Whom a site expects, and what it still waits to hear of. */
export interface AwaitedVisits<V> {
  /** Who is out there now, else the first that is still to come. */
  readonly next?: V;
  /** Planned for a time that is over, the first first. */
  readonly untold: readonly V[];
}

/**
 * Whom each site expects next. One answer for every page: what was never begun does not hide what is to come.
 *
 * @param visits  in any order, of any state
 * @param of      what a visit says of itself
 * @returns by id of the site; sites that nobody means or meant to visit are not in it
 */
export function awaitedVisits<V>(
  visits: readonly V[],
  of: (visit: V) => PlannedVisit,
  nowMs: number,
): ReadonlyMap<string, AwaitedVisits<V>> {
  const open = visits
    .map((visit) => ({ visit, ...of(visit) }))
    .filter(({ state }) => state === 'planned' || state === 'under-way')
    .sort((a, b) => a.plannedAtMs - b.plannedAtMs);
  return new Map(
    [...new Set(open.map(({ siteId }) => siteId))].map((siteId) => {
      const there = open.filter((one) => one.siteId === siteId);
      const untold = there.filter((one) => isUntold(one, nowMs));
      const coming = there.filter((one) => !untold.includes(one));
      const next = coming.find(({ state }) => state === 'under-way') ?? coming[0];
      return [
        siteId,
        {
          ...(next === undefined ? {} : { next: next.visit }),
          untold: untold.map(({ visit }) => visit),
        },
      ];
    }),
  );
}
