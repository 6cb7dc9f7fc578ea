import type { FastifyReply, FastifyRequest } from 'fastify';
import Type from 'typebox';
import { principalOf } from '../access/guard-routes.ts';
import { seesPlace, withoutPlace } from '../access/seen-place.ts';
import { seesSite } from '../access/seen-sites.ts';
import type { ApiDeps } from '../api-deps.ts';
import type { Door } from '../door.ts';
import { answerSta } from '../sta/sta-answer.ts';
import { staSets } from '../sta/sta-entity.ts';
import { readPath } from '../sta/sta-path.ts';
import { readQuery } from '../sta/sta-query.ts';
import { createStaSource } from '../sta/sta-source.ts';

const ROOT = '/api/sta/v1.1';
/** As `Datastreams('…')/Observations('…')/FeatureOfInterest/name/$value` has. */
const MOST_SEGMENTS = 5;
const segmentNames = ['first', 'second', 'third', 'fourth', 'fifth'] as const;

/** Requirement classes met in full (OGC 18-088, from memory); of the query options a part is offered. */
const CONFORMANCE = [
  'http://www.opengis.net/spec/iot_sensing/1.1/req/datamodel',
  'http://www.opengis.net/spec/iot_sensing/1.1/req/resource-path/resource-path-to-entities',
];

/** The OGC SensorThings API, version 1.1, to be read only. */
export function staRoutes(app: Door, deps: ApiDeps): void {
  app.get(
    ROOT,
    {
      config: { allow: 'read' },
      schema: {
        operationId: 'staRoot',
        tags: ['standard'],
        summary: 'SensorThings: the entity sets there are',
        response: { 200: open('The entity sets, each with its address.') },
      },
    },
    async (request) => ({
      value: staSets.map((name) => ({ name, url: `${rootOf(request)}/${name}` })),
      serverSettings: { conformance: CONFORMANCE },
    }),
  );
  for (let length = 1; length <= MOST_SEGMENTS; length += 1) staPathRoute(app, deps, length);
}

/** A path of that many parts: an OpenAPI document has no name for one of any length. */
function staPathRoute(app: Door, deps: ApiDeps, length: number): void {
  const names = segmentNames.slice(0, length);
  app.get(
    `${ROOT}/${names.map((name) => `:${name}`).join('/')}`,
    {
      config: { allow: 'read' },
      schema: {
        operationId: `sta${length}`,
        tags: ['standard'],
        summary: `SensorThings: a resource path of ${length === 1 ? 'one part' : `${length} parts`}`,
        description:
          "Such as `Datastreams('rushy-sluice-1:batt_v')/Observations?$top=5&$orderby=phenomenonTime desc`. Offered are " +
          '$filter (comparisons, and, or, not, startswith, endswith, substringof), $count, $orderby, $skip, $top, $select ' +
          'and $expand over two levels; anything else is answered with 501.',
        params: Type.Object(
          Object.fromEntries(
            names.map((name) => [name, Type.String({ description: 'A part of the path.' })]),
          ),
        ),
        querystring: QuerySchema,
        response: {
          200: {
            description: 'One entity, a page of them, or a property.',
            content: {
              'application/json': { schema: { type: 'object', additionalProperties: true } },
              'text/plain': { schema: { type: 'string' } },
            },
          },
          204: Type.Null({ description: 'The property is null.' }),
        },
      },
    },
    (request, reply) => answer(request, reply, { deps, names }),
  );
}

async function answer(
  request: FastifyRequest,
  reply: FastifyReply,
  { deps, names }: { readonly deps: ApiDeps; readonly names: readonly string[] },
): Promise<Record<string, unknown> | string | null> {
  const asking = principalOf(request);
  const params = request.params as Readonly<Record<string, string>>;
  const found = await answerSta(
    {
      deps,
      source: createStaSource(deps, {
        sees: (siteId) => seesSite(asking.account, siteId),
        shown: (view) => (seesPlace(asking) ? view : withoutPlace(view)),
      }),
      root: rootOf(request),
    },
    readPath(names.map((name) => params[name] ?? '')),
    readQuery(request.query as Record<string, unknown>),
    (request.url.split('?')[0] ?? '').slice(ROOT.length + 1),
  );
  switch (found.kind) {
    case 'json':
      return { ...found.body };
    case 'text':
      reply.type('text/plain; charset=utf-8');
      return found.text;
    case 'nothing':
      reply.code(204);
      return null;
  }
}

const rootOf = (request: FastifyRequest): string => `${request.protocol}://${request.host}${ROOT}`;

const open = (description: string) => Type.Object({}, { description, additionalProperties: true });

const option = (description: string) => Type.Optional(Type.String({ description }));
const QuerySchema = Type.Object({
  $filter: option('Such as `phenomenonTime ge 2026-11-24T00:00:00Z and result lt 12.5`.'),
  $count: option('`true`: say how many there are in all.'),
  $orderby: option('Such as `phenomenonTime desc`.'),
  $skip: option('How many to pass over.'),
  $top: option('How many to send, 100 unless it says so, 1,000 at most.'),
  $select: option('Properties to send, with commas between.'),
  $expand: option('Related entities to send along, such as `Datastreams/ObservedProperty`.'),
  $skiptoken: option('Where a next link goes on; not to be made up.'),
});
