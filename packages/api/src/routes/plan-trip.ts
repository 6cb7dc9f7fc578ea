import { accountId, isPastPlan, parseSiteId, type SiteId, type VisitPlan } from '@duskline/domain';
import type { FastifyRequest } from 'fastify';
import { principalOf } from '../access/guard-routes.ts';
import { seesSite } from '../access/seen-sites.ts';
import type { ApiDeps } from '../api-deps.ts';
import { instant } from '../json/instant.ts';
import { ApiProblem } from '../replies/api-problem.ts';
import type { KeptVisitFacts } from '../rounds-port.ts';
import { bodyInstant } from './body-instant.ts';
import { refuseConflict } from './refuse-conflict.ts';

interface Trip {
  readonly at: string;
  readonly why: string;
  readonly personId?: string;
  readonly roundId?: string;
  /** It was begun then, perhaps without coverage, and is told late. */
  readonly begun?: boolean;
  /** In the order in which they are visited. */
  readonly stops: readonly {
    readonly id: string;
    readonly siteId: string;
    /** Where in the body the site stands. */
    readonly siteAt: string;
    /** When to set out for it; default: as the whole trip. */
    readonly at?: string;
  }[];
}

/** Plans a visit to each stop. Who plans for somebody else must be allowed to arrange people. */
export async function planTrip(
  { trips, sites, now }: ApiDeps,
  request: FastifyRequest,
  { at, why, personId, roundId, begun = false, stops }: Trip,
): Promise<readonly KeptVisitFacts[]> {
  const { account, permissions } = principalOf(request);
  if (trips === undefined) return [];
  if (personId !== undefined && personId !== account.id && !permissions.includes('arrange-people'))
    throw new ApiProblem(
      'not-allowed',
      'Planning a visit for somebody else needs the permission “arrange-people”: ask a coordinator.',
    );
  const nowMs = now();
  const timeOf = (text: string, pointer: string): number =>
    begun ? bodyInstant(text, pointer) : timeToCome(text, pointer, nowMs);
  const plannedAtMs = timeOf(at, '/at');
  const plans = stops.map(({ id, siteId, siteAt, at: stopAt }, i): Omit<VisitPlan, 'person'> => ({
    id,
    siteId: requireSeenSite(request, siteId, siteAt),
    ...(roundId === undefined ? {} : { round: { id: roundId, place: i + 1 } }),
    plannedAtMs: stopAt === undefined ? plannedAtMs : timeOf(stopAt, `/times/${i}`),
    personId: accountId(personId ?? account.id),
    why: why.trim(),
    plannedBy: account.name,
    madeAtMs: nowMs,
  }));
  const places = await Promise.all(plans.map(({ siteId }) => sites.find(siteId)));
  const lost = stops.find((_, i) => places[i] === undefined);
  if (lost !== undefined) throw unknownSite(lost.siteAt);
  return refuseConflict(() => trips.visits.plan(plans), unknownGoer());
}

/** When somebody means to set out. @throws ApiProblem `visit-refused` for a time that is over */
export function timeToCome(text: string, pointer: string, nowMs: number): number {
  const atMs = bodyInstant(text, pointer);
  if (!isPastPlan(atMs, nowMs)) return atMs;
  const detail = `is ${instant(atMs)}, and it is ${instant(nowMs)} now: that is over`;
  throw new ApiProblem(
    'visit-refused',
    `In the body, ${pointer} ${detail}. Give a time to come; who has been there already opens the field sheet of the site, begins a visit and reports it.`,
    { errors: [{ pointer, detail }] },
  );
}

/**
 * @param pointer where the site stands in what was asked
 * @throws ApiProblem `site-unknown` also for a site that is not among one's own
 */
export function requireSeenSite(request: FastifyRequest, text: string, pointer: string): SiteId {
  const siteId = parseSiteId(text);
  if (siteId === undefined || !seesSite(principalOf(request).account, siteId))
    throw unknownSite(pointer);
  return siteId;
}

export const unknownSite = (pointer: string): ApiProblem =>
  new ApiProblem(
    'site-unknown',
    `There is no site of the name given in ${pointer}. GET /api/v1/sites lists those there are.`,
    { errors: [{ pointer, detail: 'is the name of no site' }] },
  );

/** Whoever is to go has no account here. */
export const unknownGoer = (): ApiProblem =>
  new ApiProblem(
    'visit-refused',
    'There is no person with the id given in /personId. GET /api/v1/people lists those there are.',
    { errors: [{ pointer: '/personId', detail: 'is the id of nobody here' }] },
  );
