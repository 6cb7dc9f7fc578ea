import { MapSettingsSchema } from '@duskline/contract';
import type { ApiDeps } from '../api-deps.ts';
import type { Door } from '../door.ts';
import { component } from '../openapi/component-schemas.ts';

export function mapRoutes(app: Door, { door }: ApiDeps): void {
  app.get(
    '/api/v1/map',
    {
      config: { allow: 'read' },
      schema: {
        operationId: 'map',
        tags: ['fleet'],
        summary: 'What the map of the fleet is drawn on: the operator’s own tiles, or nothing',
        response: { 200: component(MapSettingsSchema) },
      },
    },
    async () => ({ tiles: door.tiles === undefined ? null : { ...door.tiles } }),
  );
}
