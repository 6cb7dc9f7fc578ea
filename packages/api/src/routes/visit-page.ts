import type { FieldSheetJson, VisitPageJson } from '@duskline/contract';
import type { FastifyRequest } from 'fastify';
import Type from 'typebox';
import { principalOf } from '../access/guard-routes.ts';
import { seesSite } from '../access/seen-sites.ts';
import type { ApiDeps } from '../api-deps.ts';
import { visitJson } from '../json/visit-json.ts';
import { ApiProblem } from '../replies/api-problem.ts';
import type { KeptVisitFacts, RoundsPort } from '../rounds-port.ts';

export const VisitParamsSchema = Type.Object({
  id: Type.String({ maxLength: 40, description: 'Id of the visit.' }),
});

/** A visit with all that is needed at its site. */
export async function pageOf(
  visit: KeptVisitFacts,
  sites: ApiDeps['sites'],
  trips: RoundsPort,
): Promise<VisitPageJson> {
  const [site, sheet] = await Promise.all([sites.find(visit.siteId), sheetOf(trips, visit)]);
  return { visit: visitJson(visit, site), sheet };
}

/** What was planned for when they set out stays as it was; before that it is as things stand. */
export async function sheetOf(trips: RoundsPort, visit: KeptVisitFacts): Promise<FieldSheetJson> {
  const kept = visit.work as FieldSheetJson | undefined;
  const sheet = kept ?? (await trips.sheet(visit.siteId));
  if (sheet === undefined) throw unknownVisit();
  return sheet;
}

export async function findVisit(
  trips: RoundsPort,
  request: FastifyRequest,
  id: string,
): Promise<KeptVisitFacts> {
  const visit = await trips.visits.find(id);
  if (visit === undefined || !seesSite(principalOf(request).account, visit.siteId))
    throw unknownVisit();
  return visit;
}

export const unknownVisit = (): ApiProblem =>
  new ApiProblem(
    'visit-unknown',
    'There is no such visit. GET /api/v1/visits lists those there are.',
  );
