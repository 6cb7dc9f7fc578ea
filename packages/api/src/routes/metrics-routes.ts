import type { ApiDeps } from '../api-deps.ts';
import type { Door } from '../door.ts';

/** Figures of the server, never of sites: what is known of sites has doors of its own, with their own rights. */
export function metricsRoutes(app: Door, { metrics }: ApiDeps): void {
  if (metrics === undefined) return;
  app.get(
    '/metrics',
    {
      config: { allow: 'read' },
      schema: {
        operationId: 'metrics',
        tags: ['server'],
        summary: 'How the server itself is doing, for programs that watch servers',
        description:
          'Exposition text of OpenMetrics’ elder form (version 0.0.4): seconds and bytes, counters end in `_total`. ' +
          'Nothing in it is about sites.',
        produces: ['text/plain'],
        response: {
          200: {
            description: 'One line a figure.',
            content: { 'text/plain': { schema: { type: 'string' } } },
          },
        },
      },
    },
    async (_request, reply) => {
      const text = await metrics.read();
      return reply.header('cache-control', 'no-store').type(metrics.contentType).send(text);
    },
  );
}
