import type { VisitJson } from '@duskline/contract';
import { DAY_MS } from '@duskline/domain';
import { instantMs } from '../format/time.ts';

/** A visit that was planned for so long ago and never begun is no longer awaited. */
const FORGOTTEN_AFTER_MS = 7 * DAY_MS;

/**
 * Whom each site expects next: who is out there now, else the first visit that is planned.
 *
 * @param visits  in any order, of any state
 * @returns by id of the site; sites that nobody means to visit are not in it
 */
export function nextVisits(
  visits: readonly VisitJson[],
  nowMs: number,
): ReadonlyMap<string, VisitJson> {
  const awaited = visits
    .filter(
      ({ state, plannedAt }) =>
        state === 'under-way' ||
        (state === 'planned' && instantMs(plannedAt) > nowMs - FORGOTTEN_AFTER_MS),
    )
    .sort(
      (a, b) =>
        Number(b.state === 'under-way') - Number(a.state === 'under-way') ||
        instantMs(a.plannedAt) - instantMs(b.plannedAt),
    );
  // The last to be set stays: so the first is set last.
  return new Map(awaited.reverse().map((visit) => [visit.siteId, visit]));
}
