import { FleetSchema } from '@duskline/contract';
import type { SiteId } from '@duskline/domain';
import { principalOf } from '../access/guard-routes.ts';
import { seesPlace } from '../access/seen-place.ts';
import { seesSite } from '../access/seen-sites.ts';
import type { ApiDeps } from '../api-deps.ts';
import type { Door } from '../door.ts';
import type { FleetReader } from '../fleet-reader.ts';
import { rowWithoutPlace } from '../json/row-without-place.ts';
import { component } from '../openapi/component-schemas.ts';
import { tagOf } from '../replies/entity-tag.ts';

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
    async (request, reply) => {
      const asking = principalOf(request);
      const { account } = asking;
      const { now: at, rows, ...axis } = await reader.fleet(now());
      const rest = {
        ...axis,
        rows: rows
          .filter(({ site }) => seesSite(account, site.id as SiteId))
          .map((row) => (seesPlace(asking) ? row : rowWithoutPlace(row))),
      };
      // It says what time it is, so no browser keeps it. The tag is of everything else: a program that asks again and again
      // is sent the rows when they have changed.
      const text = JSON.stringify(rest);
      reply
        .headers({ 'cache-control': 'no-store', etag: tagOf(text) })
        .type('application/json; charset=utf-8');
      return reply.send(`{"now":${JSON.stringify(at)},${text.slice(1)}` as never);
    },
  );
}
