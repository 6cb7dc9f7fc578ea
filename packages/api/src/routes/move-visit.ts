import { MoveVisitSchema, VisitPageSchema } from '@duskline/contract';
import { accountId } from '@duskline/domain';
import { principalOf } from '../access/guard-routes.ts';
import type { ApiDeps } from '../api-deps.ts';
import type { Door } from '../door.ts';
import { component } from '../openapi/component-schemas.ts';
import { ApiProblem } from '../replies/api-problem.ts';
import type { RoundsPort } from '../rounds-port.ts';
import { timeToCome, unknownGoer } from './plan-trip.ts';
import { refuseConflict } from './refuse-conflict.ts';
import { findVisit, pageOf, VisitParamsSchema } from './visit-page.ts';

/** A visit to another day, or to another person. Who is not the one to go must be allowed to arrange people. */
export function moveVisit(app: Door, { sites, now }: ApiDeps, trips: RoundsPort): void {
  app.post(
    '/api/v1/visits/:id/move',
    {
      config: { allow: 'handle-alerts' },
      schema: {
        operationId: 'moveVisit',
        tags: ['visits'],
        summary: 'Move a planned visit to another time or person, with the reason',
        description:
          'A visit that is moved leaves its round. Visits of others, and to others, need the permission “arrange-people”.',
        params: VisitParamsSchema,
        body: component(MoveVisitSchema),
        response: { 200: component(VisitPageSchema) },
      },
    },
    async (request) => {
      const { account, permissions } = principalOf(request);
      const visit = await findVisit(trips, request, request.params.id);
      const personId = request.body.personId ?? visit.personId;
      const isOwn = visit.personId === account.id && personId === account.id;
      if (!isOwn && !permissions.includes('arrange-people'))
        throw new ApiProblem(
          'not-allowed',
          'Moving a visit of somebody else, or to somebody else, needs the permission “arrange-people”: ask a coordinator.',
        );
      const moved = await refuseConflict(
        () =>
          trips.visits.move(visit.id, {
            plannedAtMs: timeToCome(request.body.at, '/at', now()),
            personId: accountId(personId),
            why: request.body.why.trim(),
            by: account.name,
            nowMs: now(),
          }),
        unknownGoer(),
      );
      if (moved === undefined)
        throw new ApiProblem('visit-refused', 'Only a visit that nobody has set out for is moved.');
      return pageOf(moved, sites, trips);
    },
  );
}
