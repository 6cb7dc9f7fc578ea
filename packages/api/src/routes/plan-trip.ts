import { accountId, parseSiteId, type SiteId, type VisitPlan } from '@duskline/domain';
import type { FastifyRequest } from 'fastify';
import { principalOf } from '../access/guard-routes.ts';
import { seesSite } from '../access/seen-sites.ts';
import type { ApiDeps } from '../api-deps.ts';
import { ApiProblem } from '../replies/api-problem.ts';
import type { KeptVisitFacts } from '../rounds-port.ts';
import { bodyInstant } from './body-instant.ts';
import { refuseConflict } from './refuse-conflict.ts';

interface Trip {
  readonly at: string;
  readonly why: string;
  readonly personId?: string;
  readonly roundId?: string;
  /** In the order in which they are visited. */
  readonly stops: readonly {
    readonly id: string;
    readonly siteId: string;
    /** When to set out for it; default: as the whole trip. */
    readonly at?: string;
  }[];
}

/** Plans a visit to each stop. Who plans for somebody else must be allowed to arrange people. */
export async function planTrip(
  { trips, now }: ApiDeps,
  request: FastifyRequest,
  { at, why, personId, roundId, stops }: Trip,
): Promise<readonly KeptVisitFacts[]> {
  const { account, permissions } = principalOf(request);
  if (trips === undefined) return [];
  if (personId !== undefined && personId !== account.id && !permissions.includes('arrange-people'))
    throw new ApiProblem(
      'not-allowed',
      'Planning a visit for somebody else needs the permission “arrange-people”: ask a coordinator.',
    );
  const plannedAtMs = bodyInstant(at, '/at');
  const plans = stops.map(({ id, siteId, at: stopAt }, i): Omit<VisitPlan, 'person'> => ({
    id,
    siteId: requireSeenSite(request, siteId),
    ...(roundId === undefined ? {} : { round: { id: roundId, place: i + 1 } }),
    plannedAtMs: stopAt === undefined ? plannedAtMs : bodyInstant(stopAt, `/times/${i}`),
    personId: accountId(personId ?? account.id),
    why: why.trim(),
    plannedBy: account.name,
    madeAtMs: now(),
  }));
  return refuseConflict(
    () => trips.visits.plan(plans),
    new ApiProblem('visit-refused', 'There is no such site or person.'),
  );
}

/** @throws ApiProblem `site-unknown` also for a site that is not among one's own */
export function requireSeenSite(request: FastifyRequest, text: string): SiteId {
  const siteId = parseSiteId(text);
  if (siteId === undefined || !seesSite(principalOf(request).account, siteId))
    throw new ApiProblem(
      'site-unknown',
      'There is no site of this name. GET /api/v1/sites lists those there are.',
    );
  return siteId;
}
