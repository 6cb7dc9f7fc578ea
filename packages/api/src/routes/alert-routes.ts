import { AlertListSchema, AlertSchema } from '@duskline/contract';
import type { AlertJson } from '@duskline/contract';
import { alertId, isAboutFleet } from '@duskline/domain';
import type { FastifyRequest } from 'fastify';
import Type from 'typebox';
import { principalOf } from '../access/guard-routes.ts';
import { seesSite } from '../access/seen-sites.ts';
import type { AlertPort, ApiDeps } from '../api-deps.ts';
import type { Door } from '../door.ts';
import { alertInItsCause, alertsJson } from '../json/alert-json.ts';
import { component } from '../openapi/component-schemas.ts';
import { ApiProblem } from '../replies/api-problem.ts';

const AlertParamsSchema = Type.Object({
  id: Type.String({ description: 'Id of the alert.', examples: ['41'] }),
});

export function alertRoutes(app: Door, deps: ApiDeps): void {
  const { alerts, sites } = deps;

  async function change(request: FastifyRequest, id: string, act: Act): Promise<AlertJson> {
    const alert = await act(alertId(id), principalOf(request).account, deps.now());
    if (alert === undefined)
      throw new ApiProblem(
        'alert-unknown',
        'There is no alert of this id. GET /api/v1/alerts lists those that are open.',
      );
    await deps.onAlert?.(alert);
    const [site, open] = await Promise.all([sites.find(alert.siteId), alerts.listOpen()]);
    return alertInItsCause(alert, site?.name ?? alert.siteId, open);
  }

  app.get(
    '/api/v1/alerts',
    {
      config: { allow: 'read' },
      schema: {
        operationId: 'alerts',
        tags: ['alerts'],
        summary: 'Alerts not over, and those over that nobody has seen: one for each cause',
        response: { 200: component(AlertListSchema) },
      },
    },
    async (request) => {
      const { account } = principalOf(request);
      const [open, all] = await Promise.all([alerts.listOpen(), sites.list()]);
      const names = new Map(all.map((site) => [site.id, site.name]));
      const seen = open.filter((one) => isAboutFleet(one) || seesSite(account, one.siteId));
      return { alerts: alertsJson(seen, ({ siteId }) => names.get(siteId) ?? siteId) };
    },
  );

  app.post(
    '/api/v1/alerts/:id/take',
    {
      config: { allow: 'handle-alerts' },
      schema: {
        operationId: 'takeAlert',
        tags: ['alerts'],
        summary: 'I see to it',
        description: 'A new alert becomes taken. One that is taken already stays with who has it.',
        params: AlertParamsSchema,
        response: { 200: component(AlertSchema) },
      },
    },
    (request) => change(request, request.params.id, alerts.take.bind(alerts)),
  );

  app.post(
    '/api/v1/alerts/:id/seen',
    {
      config: { allow: 'handle-alerts' },
      schema: {
        operationId: 'seeAlert',
        tags: ['alerts'],
        summary: 'I have seen that it is over',
        description: 'An alert that ended unseen becomes ended; any other stays as it is.',
        params: AlertParamsSchema,
        response: { 200: component(AlertSchema) },
      },
    },
    (request) => change(request, request.params.id, alerts.seen.bind(alerts)),
  );
}

type Act = AlertPort['take'];
