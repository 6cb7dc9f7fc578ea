import {
  FieldSheetSchema,
  NewRoundSchema,
  RoundsSchema,
  VisitListSchema,
} from '@duskline/contract';
import { parseSiteId } from '@duskline/domain';
import { randomUUID } from 'node:crypto';
import Type from 'typebox';
import { principalOf } from '../access/guard-routes.ts';
import { seesPlace } from '../access/seen-place.ts';
import { seesSite } from '../access/seen-sites.ts';
import type { ApiDeps } from '../api-deps.ts';
import type { Door } from '../door.ts';
import { sheetWithoutPlace } from '../json/sheet-without-place.ts';
import { visitJson } from '../json/visit-json.ts';
import { component } from '../openapi/component-schemas.ts';
import { ApiProblem } from '../replies/api-problem.ts';
import { SiteParamsSchema } from './find-site.ts';
import { planTrip } from './plan-trip.ts';

const RoundsQuerySchema = Type.Object({
  from: Type.Optional(
    Type.String({
      pattern: '^-?[0-9]{1,2}(\\.[0-9]{1,7})?,-?[0-9]{1,3}(\\.[0-9]{1,7})?$',
      description: 'Where trips begin and end: latitude and longitude in degrees.',
      examples: ['54.71,-2.31'],
    }),
  ),
});

/** Who must be visited by when, and how those visits may be put together. */
export function roundRoutes(app: Door, deps: ApiDeps): void {
  const { trips, sites } = deps;
  if (trips === undefined) return;

  app.get(
    '/api/v1/rounds',
    {
      config: { allow: 'read' },
      schema: {
        operationId: 'rounds',
        tags: ['visits'],
        summary: 'Latest safe date of every site, and rounds that would serve them',
        description:
          'Distances are great-circle distances, not roads. A suggestion: it knows no gates, no weather and no roads.',
        querystring: RoundsQuerySchema,
        response: { 200: component(RoundsSchema) },
      },
    },
    async (request) => {
      const reader = principalOf(request);
      return trips.rounds(placeOf(request.query.from), {
        sees: (siteId) => seesSite(reader.account, siteId),
        seesPlaces: seesPlace(reader),
      });
    },
  );

  app.post(
    '/api/v1/rounds',
    {
      config: { allow: 'handle-alerts' },
      schema: {
        operationId: 'planRound',
        tags: ['visits'],
        summary: 'Plan one trip to several sites',
        body: component(NewRoundSchema),
        response: { 201: component(VisitListSchema) },
      },
    },
    async (request, reply) => {
      const { siteIds, times, ...trip } = request.body;
      if (new Set(siteIds).size < siteIds.length)
        throw new ApiProblem('visit-refused', 'A round passes each site once.', {
          errors: [{ pointer: '/siteIds', detail: 'names a site twice' }],
        });
      if (times !== undefined && times.length !== siteIds.length)
        throw new ApiProblem('visit-refused', 'A round has one time for each of its sites.', {
          errors: [{ pointer: '/times', detail: 'must be as many as siteIds' }],
        });
      const planned = await planTrip(deps, request, {
        ...trip,
        roundId: randomUUID(),
        stops: siteIds.map((siteId, i) => {
          const stopAt = times?.[i];
          return {
            id: randomUUID(),
            siteId,
            siteAt: `/siteIds/${i}`,
            ...(stopAt === undefined ? {} : { at: stopAt }),
          };
        }),
      });
      const siteOf = new Map((await sites.list()).map((site) => [site.id, site]));
      reply.code(201);
      return { visits: planned.map((visit) => visitJson(visit, siteOf.get(visit.siteId))) };
    },
  );

  app.get(
    '/api/v1/sites/:siteId/field-sheet',
    {
      config: { allow: 'read' },
      schema: {
        operationId: 'fieldSheet',
        tags: ['visits'],
        summary: 'Everything that is needed at a site, for whoever stands there',
        params: SiteParamsSchema,
        response: { 200: component(FieldSheetSchema) },
      },
    },
    async (request) => {
      const siteId = parseSiteId(request.params.siteId);
      const sheet = siteId === undefined ? undefined : await trips.sheet(siteId);
      if (sheet === undefined)
        throw new ApiProblem(
          'site-unknown',
          'There is no site of this name. GET /api/v1/sites lists those there are.',
        );
      return seesPlace(principalOf(request)) ? sheet : sheetWithoutPlace(sheet);
    },
  );
}

function placeOf(text: string | undefined) {
  if (text === undefined) return undefined;
  const [latitudeDeg = NaN, longitudeDeg = NaN] = text.split(',').map(Number);
  if (!(Math.abs(latitudeDeg) <= 90 && Math.abs(longitudeDeg) <= 180))
    throw new ApiProblem('query-invalid', 'In the address, from is no place on the earth.', {
      errors: [{ pointer: '/from', detail: 'must be latitude −90 … 90, longitude −180 … 180' }],
    });
  return { latitudeDeg, longitudeDeg };
}
