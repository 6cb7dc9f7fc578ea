import fastifySwagger from '@fastify/swagger';
import type { FastifySchema } from 'fastify';
import type { Allowed, Door } from '../door.ts';
import { PROBLEM_TYPE } from '../replies/api-problem.ts';
import { componentSchemas } from './component-schemas.ts';

const tags = [
  { name: 'fleet', description: 'Sites, their state, outlook and readings.' },
  { name: 'alerts', description: 'What a person can act on.' },
  {
    name: 'outlooks',
    description: 'What outlooks rest on, what would help, and how right they were.',
  },
  { name: 'parts', description: 'Parts of a site, with their serials and their lives.' },
  { name: 'setup', description: 'Sites, nodes, their secrets, and what could not be accepted.' },
  { name: 'cards', description: 'Logs brought home on the memory cards of nodes.' },
  { name: 'data', description: 'Exports for analysts, and the report of the year.' },
  {
    name: 'standard',
    description: 'The same in the words of a standard: OGC SensorThings API 1.1, to be read only.',
  },
  { name: 'sizing', description: 'Panel and battery for a load at a place.' },
  {
    name: 'people',
    description: 'People, what they look after, the rota, and how they are reached.',
  },
  {
    name: 'visits',
    description: 'Who must be visited by when, visits and rounds, and a calendar of them.',
  },
  { name: 'access', description: 'Signing in, and tokens for programs.' },
  { name: 'server', description: 'How the server itself is doing.' },
];

const problem = {
  description: 'It was refused, and the body says why (RFC 9457).',
  content: { [PROBLEM_TYPE]: { schema: { $ref: 'Problem#' } } },
};

interface DescribeOptions {
  readonly version: string;
  readonly cookieName: string;
}

/** Collects the routes that follow into one OpenAPI 3.1 document. */
export async function describeApi(
  app: Door,
  { version, cookieName }: DescribeOptions,
): Promise<void> {
  for (const schema of componentSchemas()) app.addSchema(schema);
  await app.register(fastifySwagger, {
    openapi: {
      openapi: '3.1.0',
      info: {
        title: 'Duskline',
        description:
          'A fleet of solar-powered field nodes: which will go dark when, and who does what about it. ' +
          'Times are RFC 3339 in UTC. Charge is a ratio from 0 to 1 unless the name says percent.',
        license: { name: 'MIT', identifier: 'MIT' },
        version,
      },
      servers: [{ url: '/' }],
      tags,
      components: {
        securitySchemes: {
          session: {
            type: 'apiKey',
            in: 'cookie',
            name: cookieName,
            description: 'Set by signing in. Changes need the Origin of our own page as well.',
          },
          token: { type: 'http', scheme: 'bearer', description: 'An API token.' },
        },
      },
    },
    refResolver: { buildLocalReference: (schema, _base, _fragment, i) => nameOf(schema, i) },
  });
  app.addHook('onRoute', (route) => {
    if (route.schema?.hide === true || route.config?.allow === undefined) return;
    route.schema = described(route.schema ?? {}, route.config.allow, route.config.by);
  });
}

const nameOf = (schema: { readonly [key: string]: unknown }, i: number): string =>
  typeof schema['$id'] === 'string' ? schema['$id'] : `Part${i}`;

/** What follows from the policy of the route is written from it, so that the two cannot differ. */
function described(
  schema: FastifySchema,
  allow: Allowed,
  by: 'session' | undefined,
): FastifySchema {
  const needs = allow === 'anyone' ? 'Open to anyone.' : `Needs the permission \`${allow}\`.`;
  const person = by === 'session' ? ' Only a signed-in person, not a token.' : '';
  const ways = by === 'session' ? [{ session: [] }] : [{ session: [] }, { token: [] }];
  return {
    ...schema,
    description: [schema.description, needs + person].filter(Boolean).join('\n\n'),
    security: allow === 'anyone' ? [] : ways,
    response: { ...answers(schema.response), '4XX': problem, '5XX': problem },
  };
}

/** The document wants a sentence with every answer; a reference brings none. */
const answers = (response: unknown): Record<string, object> =>
  Object.fromEntries(
    Object.entries((response ?? {}) as Record<string, object>).map(([status, schema]) => [
      status,
      { description: 'The answer.', ...schema },
    ]),
  );
