import {
  NewVisitSchema,
  VisitListSchema,
  VisitPageSchema,
  VisitSchema,
  VisitStepsSchema,
  type FieldSheetJson,
} from '@duskline/contract';
import { DAY_MS, HOUR_MS, parseSiteId, type VisitStep } from '@duskline/domain';
import { randomUUID } from 'node:crypto';
import Type from 'typebox';
import { principalOf } from '../access/guard-routes.ts';
import { seesPlace } from '../access/seen-place.ts';
import { seesSite } from '../access/seen-sites.ts';
import type { ApiDeps } from '../api-deps.ts';
import type { Door } from '../door.ts';
import { sheetWithoutPlace } from '../json/sheet-without-place.ts';
import { visitJson, visitStepOf } from '../json/visit-json.ts';
import { component } from '../openapi/component-schemas.ts';
import { ApiProblem } from '../replies/api-problem.ts';
import type { RoundsPort } from '../rounds-port.ts';
import { moveVisit } from './move-visit.ts';
import { planTrip, requireSeenSite, unknownSite } from './plan-trip.ts';
import { findVisit, pageOf, sheetOf, unknownVisit, VisitParamsSchema } from './visit-page.ts';

const LONGEST_RANGE_MS = 800 * DAY_MS;
const LONGEST_TRIP_MS = 36 * HOUR_MS;
const instantSchema = Type.String({ format: 'date-time' });
const ListQuerySchema = Type.Object({
  from: instantSchema,
  to: instantSchema,
  site: Type.Optional(Type.String({ maxLength: 60, description: 'Of this site only.' })),
});

/** Visits: planned, reported step by step, also late and twice, and read whole before there is no coverage. */
export function visitRoutes(app: Door, deps: ApiDeps): void {
  const { trips } = deps;
  if (trips === undefined) return;
  showVisits(app, deps, trips);
  planVisits(app, deps, trips);
  moveVisit(app, deps, trips);
  reportSteps(app, deps, trips);
}

function showVisits(app: Door, { sites }: ApiDeps, trips: RoundsPort): void {
  app.get(
    '/api/v1/visits',
    {
      config: { allow: 'read' },
      schema: {
        operationId: 'visits',
        tags: ['visits'],
        summary: 'Visits planned for, under way or done in a stretch of time',
        querystring: ListQuerySchema,
        response: { 200: component(VisitListSchema) },
      },
    },
    async (request) => {
      const { from, to, site } = request.query;
      const [fromMs, toMs] = [Date.parse(from), Date.parse(to)];
      if (!(toMs > fromMs) || toMs - fromMs > LONGEST_RANGE_MS)
        throw new ApiProblem('range-invalid', 'Ask for a stretch of at most 800 days.');
      const siteId = site === undefined ? undefined : parseSiteId(site);
      if (site !== undefined && siteId === undefined) throw unknownSite('/site');
      const { account } = principalOf(request);
      const [visits, places] = await Promise.all([
        trips.visits.list({ fromMs, toMs, ...(siteId === undefined ? {} : { siteId }) }),
        sites.list(),
      ]);
      const siteOf = new Map(places.map((one) => [one.id, one]));
      return {
        visits: visits
          .filter((visit) => seesSite(account, visit.siteId))
          .map((visit) => visitJson(visit, siteOf.get(visit.siteId))),
      };
    },
  );

  app.get(
    '/api/v1/visits/:id',
    {
      config: { allow: 'read' },
      schema: {
        operationId: 'visit',
        tags: ['visits'],
        summary: 'One visit with everything that is needed at the site',
        params: VisitParamsSchema,
        response: { 200: component(VisitPageSchema) },
      },
    },
    async (request) => {
      const page = await pageOf(await findVisit(trips, request, request.params.id), sites, trips);
      return seesPlace(principalOf(request))
        ? page
        : { ...page, sheet: sheetWithoutPlace(page.sheet) };
    },
  );
}

function planVisits(app: Door, deps: ApiDeps, trips: RoundsPort): void {
  app.post(
    '/api/v1/visits',
    {
      config: { allow: 'handle-alerts' },
      schema: {
        operationId: 'planVisit',
        tags: ['visits'],
        summary: 'Plan a visit; sent a second time with the same id it changes nothing',
        body: component(NewVisitSchema),
        response: { 201: component(VisitSchema) },
      },
    },
    async (request, reply) => {
      const { id = randomUUID(), siteId, ...trip } = request.body;
      const known = await trips.visits.find(id);
      if (known !== undefined) requireSeenSite(request, known.siteId, '/siteId');
      const [visit] =
        known === undefined
          ? await planTrip(deps, request, { ...trip, stops: [{ id, siteId, siteAt: '/siteId' }] })
          : [known];
      if (visit === undefined) throw unknownVisit();
      reply.code(201);
      return visitJson(visit, await deps.sites.find(visit.siteId));
    },
  );
}

function reportSteps(app: Door, { sites, now }: ApiDeps, trips: RoundsPort): void {
  app.post(
    '/api/v1/visits/:id/steps',
    {
      config: { allow: 'handle-alerts' },
      schema: {
        operationId: 'reportVisit',
        tags: ['visits'],
        summary: 'Report of a visit: set out, ticks, notes, back; each step is kept once',
        description:
          'Steps carry ids made where they were made, so that a phone may send them late and again. Setting out needs every caution of the field sheet ticked. Saying “back” ends the watch over whoever is out; it is not an emergency service.',
        params: VisitParamsSchema,
        body: component(VisitStepsSchema),
        response: { 200: component(VisitPageSchema) },
      },
    },
    async (request) => {
      const visit = await findVisit(trips, request, request.params.id);
      const nowMs = now();
      const sheet = await sheetOf(trips, visit);
      const by = principalOf(request).account.name;
      const steps = request.body.steps.map((step) => visitStepOf(step, { by, nowMs }));
      steps.forEach((step, i) => requireSound(step, sheet, i));
      const kept = await trips.visits.step(visit.id, steps, {
        by,
        nowMs,
        work: sheet,
      });
      if (kept === undefined) throw unknownVisit();
      return pageOf(kept, sites, trips);
    },
  );
}

function requireSound(step: VisitStep, sheet: FieldSheetJson, place: number): void {
  const refuse = (field: string, detail: string) =>
    new ApiProblem('visit-step-refused', `In the body, /steps/${place}/${field} ${detail}.`, {
      errors: [{ pointer: `/steps/${place}/${field}`, detail }],
    });
  if (!Number.isFinite(step.atMs)) throw refuse('at', 'cannot be read as a time');
  if (step.kind === 'set-out' || step.kind === 'later') {
    const aheadMs = step.backByMs - step.atMs;
    if (!(aheadMs > 0 && aheadMs <= LONGEST_TRIP_MS))
      throw refuse('backBy', 'must lie after the step, by 36 hours at most');
  }
  if (step.kind === 'add' && step.found === '' && step.deeds.length === 0)
    throw refuse('found', 'is empty and nothing was done: say what is to be added');
  if (step.kind !== 'set-out') return;
  const missing = sheet.cautions.filter(({ key }) => !step.cautions.includes(key));
  if (missing.length > 0)
    throw refuse(
      'cautions',
      `lacks ${missing.map(({ key }) => key).join(', ')}: read and tick every caution before setting out`,
    );
}
