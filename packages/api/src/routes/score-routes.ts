import { ScoreQuerySchema, ScoreSchema } from '@duskline/contract';
import type { ApiDeps } from '../api-deps.ts';
import type { Door } from '../door.ts';
import { component } from '../openapi/component-schemas.ts';
import { findNode } from './outlook-routes.ts';

const DEFAULT_DAYS = 365;

export function scoreRoutes(app: Door, { outlookDesk: desk, nodes }: ApiDeps): void {
  if (desk === undefined) return;
  app.get(
    '/api/v1/score',
    {
      config: { allow: 'read' },
      schema: {
        operationId: 'score',
        tags: ['outlooks'],
        summary: 'How right the outlooks were, of the fleet or of one node',
        description:
          'One outlook a node and day; each counts when its whole time is over. Hindcasts are counted apart.',
        querystring: component(ScoreQuerySchema),
        response: { 200: component(ScoreSchema) },
      },
    },
    async ({ query }) => {
      const node = query.node === undefined ? undefined : await findNode(nodes, query.node);
      return desk.score({
        days: query.days ?? DEFAULT_DAYS,
        of: query.of ?? 'all',
        ...(node === undefined ? {} : { node }),
      });
    },
  );
}
