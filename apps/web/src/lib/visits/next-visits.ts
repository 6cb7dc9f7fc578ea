import type { VisitJson } from '@duskline/contract';
import { awaitedVisits, isUntold, type AwaitedVisits } from '@duskline/domain';
import { instantMs } from '../format/time.ts';

const plannedVisit = ({ siteId, state, plannedAt }: VisitJson) => ({
  siteId,
  state,
  plannedAtMs: instantMs(plannedAt),
});

/**
 * Whom each site expects next, and what nobody has said anything of.
 *
 * @param visits  in any order, of any state
 * @returns by id of the site; sites that nobody means or meant to visit are not in it
 */
export const visitsBySite = (
  visits: readonly VisitJson[],
  nowMs: number,
): ReadonlyMap<string, AwaitedVisits<VisitJson>> => awaitedVisits(visits, plannedVisit, nowMs);

/** Was it planned for a time that is over, and nobody has said what became of it? */
export const isVisitUntold = (visit: VisitJson, nowMs: number): boolean =>
  isUntold(plannedVisit(visit), nowMs);

/** Whom each site expects next; sites that nobody means to visit are not in it. */
export function nextVisits(
  visits: readonly VisitJson[],
  nowMs: number,
): ReadonlyMap<string, VisitJson> {
  return new Map(
    [...visitsBySite(visits, nowMs)].flatMap(([siteId, { next }]) =>
      next === undefined ? [] : [[siteId, next]],
    ),
  );
}
