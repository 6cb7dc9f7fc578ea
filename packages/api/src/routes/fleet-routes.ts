import { FleetSchema } from '@duskline/contract';
import type { ApiDeps } from '../api-deps.ts';
import type { Door } from '../door.ts';
import type { FleetReader } from '../fleet-reader.ts';
import { component } from '../openapi/component-schemas.ts';

export function fleetRoutes(app: Door, { now }: ApiDeps, reader: FleetReader): void {
  app.get(
    '/api/v1/fleet',
    {
      config: { allow: 'read' },
      schema: {
        operationId: 'fleet',
        tags: ['fleet'],
        summary: 'The fleet page: every site on one time axis',
        description:
          'Seven days of charge by the hour, the outlook fan for fourteen days, and the nights of each site.',
        response: { 200: component(FleetSchema) },
      },
    },
    async (_request, reply) => {
      // It says what time it is, so it is never the same twice.
      reply.header('cache-control', 'no-store');
      return reader.fleet(now());
    },
  );
}
