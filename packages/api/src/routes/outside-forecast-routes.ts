import {
  NewOutsideForecastSchema,
  OutsideForecastListSchema,
  OutsideForecastSchema,
} from '@duskline/contract';
import type { NewOutsideForecastJson } from '@duskline/contract';
import { principalOf } from '../access/guard-routes.ts';
import type { ApiDeps } from '../api-deps.ts';
import type { Door } from '../door.ts';
import { component } from '../openapi/component-schemas.ts';
import type { OutsideFault } from '../outlook-desk.ts';
import { ApiProblem } from '../replies/api-problem.ts';
import { findSite, SiteParamsSchema } from './find-site.ts';

/** An ensemble of sixty, hourly, a fortnight long. */
const BODY_LIMIT_BYTES = 2 * 1024 * 1024;

export async function outsideForecastRoutes(door: Door, deps: ApiDeps): Promise<void> {
  const { outlookDesk: desk, views } = deps;
  if (desk === undefined) return;
  await door.register(async (scope) => {
    const app = scope as unknown as Door;
    // The small file, of this route only.
    app.addContentTypeParser(
      'text/csv',
      { parseAs: 'string', bodyLimit: BODY_LIMIT_BYTES },
      (_request, body, done) => done(null, body),
    );

    app.get(
      '/api/v1/sites/:siteId/outside-forecasts',
      {
        config: { allow: 'read' },
        schema: {
          operationId: 'outsideForecasts',
          tags: ['outlooks'],
          summary: 'Weather forecasts from outside, and which of them was used',
          params: SiteParamsSchema,
          response: { 200: component(OutsideForecastListSchema) },
        },
      },
      async (request) => desk.outside((await findSite(views, request.params.siteId)).site.id),
    );

    app.post(
      '/api/v1/sites/:siteId/outside-forecasts',
      {
        bodyLimit: BODY_LIMIT_BYTES,
        config: { allow: 'change-nodes' },
        schema: {
          operationId: 'addOutsideForecast',
          tags: ['outlooks'],
          summary: 'Bring a weather forecast for a site',
          description:
            'As JSON, or as a small file of comma-separated values. The newest is used by the next outlook.',
          params: SiteParamsSchema,
          body: {
            content: {
              'application/json': { schema: component(NewOutsideForecastSchema) },
              'text/csv': { schema: { type: 'string', maxLength: BODY_LIMIT_BYTES } },
            },
          },
          response: { 201: component(OutsideForecastSchema) },
        },
      },
      async (request, reply) => {
        const { site } = await findSite(views, request.params.siteId);
        const body = request.body as NewOutsideForecastJson | string;
        const added = await desk.addOutside(site.id, body, principalOf(request).account);
        if (!added.ok) throw refusal(added.fault);
        reply.code(201);
        return added.value;
      },
    );
  });
}

function refusal(fault: OutsideFault): ApiProblem {
  if (fault.kind === 'in-use')
    return new ApiProblem(
      'outside-forecast-in-use',
      'An outlook was made of the forecast of this source and time: it stays as it is. Send a later one.',
    );
  const { pointer, detail } = fault;
  return new ApiProblem('outside-forecast-invalid', `In the forecast, ${pointer} ${detail}.`, {
    errors: [{ pointer, detail }],
  });
}
