import {
  NewNoteSchema,
  NodeDiagnosesSchema,
  SiteEventSchema,
  SitePeriodQuerySchema,
  SiteStorySchema,
} from '@duskline/contract';
import type { NodeDiagnosesJson, SiteEventJson, SiteStoryJson } from '@duskline/contract';
import { DAY_MS, type Alert, type Diagnosis, type NodeEvent } from '@duskline/domain';
import { principalOf } from '../access/guard-routes.ts';
import type { ApiDeps } from '../api-deps.ts';
import type { Door } from '../door.ts';
import { finite } from '../json/finite.ts';
import { instant, instantOrNull } from '../json/instant.ts';
import { component } from '../openapi/component-schemas.ts';
import { ApiProblem } from '../replies/api-problem.ts';
import { findSite, SiteParamsSchema } from './find-site.ts';
import { findNode, NodeParamsSchema } from './outlook-routes.ts';

const MOST_EVENTS = 500;
const LONGEST_MS = 5 * 366 * DAY_MS;
/** Nights of a longer stretch cannot be told apart on any screen. */
const NIGHTS_WITHIN_MS = 62 * DAY_MS;

/** What a site's page tells beside figures: causes, logbook, alerts that were. */
export function siteStoryRoutes(app: Door, deps: ApiDeps): void {
  const { story } = deps;
  if (story === undefined) return;

  app.get(
    '/api/v1/nodes/:name/diagnoses',
    {
      config: { allow: 'read' },
      schema: {
        operationId: 'diagnoses',
        tags: ['fleet'],
        summary: 'Why a node is silent, or charges worse than its design says: ranked causes',
        params: NodeParamsSchema,
        response: { 200: component(NodeDiagnosesSchema) },
      },
    },
    async (request) => {
      const node = await findNode(deps.nodes, request.params.name);
      const { silence, power } = await story.diagnoses(node.id);
      return { diagnoses: [silence, power].filter((one) => one !== undefined).map(diagnosisJson) };
    },
  );

  app.get(
    '/api/v1/sites/:siteId/story',
    {
      config: { allow: 'read' },
      schema: {
        operationId: 'siteStory',
        tags: ['fleet'],
        summary: 'Logbook, alerts and nights of a stretch of time',
        params: SiteParamsSchema,
        querystring: component(SitePeriodQuerySchema),
        response: { 200: component(SiteStorySchema) },
      },
    },
    async (request): Promise<SiteStoryJson> => {
      const { site } = await findSite(deps.views, request.params.siteId);
      const { fromMs, toMs } = periodOf(request.query);
      const [events, alerts] = await Promise.all([
        story.events(site.id, { fromMs, toMs, limit: MOST_EVENTS }),
        story.alerts(site.id, fromMs, toMs),
      ]);
      const { latitudeDeg, longitudeDeg } = site.position;
      const nights =
        toMs - fromMs > NIGHTS_WITHIN_MS
          ? []
          : deps.nightsBetween(fromMs, toMs, latitudeDeg, longitudeDeg);
      return {
        events: events.map(eventJson),
        alerts: alerts.map(pastAlertJson),
        nights: nights.map(([startMs, endMs]) => [instant(startMs), instant(endMs)]),
      };
    },
  );

  app.post(
    '/api/v1/sites/:siteId/notes',
    {
      config: { allow: 'handle-alerts' },
      schema: {
        operationId: 'addNote',
        tags: ['fleet'],
        summary: 'Add a note to the logbook',
        params: SiteParamsSchema,
        body: component(NewNoteSchema),
        response: { 201: component(SiteEventSchema) },
      },
    },
    async (request, reply) => {
      const { site } = await findSite(deps.views, request.params.siteId);
      const sentence = request.body.sentence.trim();
      if (sentence === '')
        throw new ApiProblem('body-invalid', 'In the body, /sentence is empty.', {
          errors: [{ pointer: '/sentence', detail: 'is empty' }],
        });
      const by = principalOf(request).account.name;
      const event: NodeEvent = { siteId: site.id, atMs: deps.now(), kind: 'note', sentence, by };
      await story.addEvent(event);
      reply.code(201);
      return eventJson(event);
    },
  );
}

function periodOf({ from, to }: { readonly from: string; readonly to: string }) {
  const fromMs = Date.parse(from);
  const toMs = Date.parse(to);
  if (!(toMs > fromMs && toMs - fromMs <= LONGEST_MS))
    throw new ApiProblem(
      'range-invalid',
      'In the address, to must be later than from, by five years at most.',
      { errors: [{ pointer: '/to', detail: 'must be later than from' }] },
    );
  return { fromMs, toMs };
}

const diagnosisJson = ({
  question,
  madeAtMs,
  causes,
}: Diagnosis): NodeDiagnosesJson['diagnoses'][number] => ({
  question,
  madeAt: instant(madeAtMs),
  causes: causes.map((cause) => ({
    cause: cause.cause,
    name: cause.name,
    probability: finite(cause.probability, 'probability'),
    evidenceFor: [...cause.evidenceFor],
    evidenceAgainst: [...cause.evidenceAgainst],
    settledBy: cause.settledBy,
    settledAt: instantOrNull(cause.settledAtMs),
  })),
});

const eventJson = ({ atMs, kind, sentence, by }: NodeEvent): SiteEventJson => ({
  at: instant(atMs),
  kind,
  sentence,
  by: by ?? null,
});

const pastAlertJson = (alert: Alert): SiteStoryJson['alerts'][number] => ({
  id: alert.id,
  rule: alert.rule,
  priority: alert.priority,
  state: alert.state,
  sentence: alert.text.sentence,
  openedAt: instant(alert.openedAtMs),
  takenAt: instantOrNull(alert.takenAtMs),
  takenBy: alert.takenBy ?? null,
  endedAt: instantOrNull(alert.endedAtMs),
});
