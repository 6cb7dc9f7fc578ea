import { NewSettingsRequestSchema, SettingsStorySchema } from '@duskline/contract';
import type { NewSettingsRequestJson, SettingsStoryJson } from '@duskline/contract';
import { DAY_MS, type SettingsRequest } from '@duskline/domain';
import { randomBytes } from 'node:crypto';
import { principalOf } from '../access/guard-routes.ts';
import type { ApiDeps } from '../api-deps.ts';
import type { Door } from '../door.ts';
import { instant, instantOrNull } from '../json/instant.ts';
import { component } from '../openapi/component-schemas.ts';
import { ApiProblem } from '../replies/api-problem.ts';
import type { SettingsStory } from '../settings-port.ts';
import { findNode, NodeParamsSchema } from './outlook-routes.ts';

/** Longer than that nobody oversees: thrift is for a dull stretch, not for good. */
const LONGEST_THRIFT_MS = 366 * DAY_MS;

export function settingsRoutes(app: Door, deps: ApiDeps): void {
  const { settings, nodes, now } = deps;
  if (settings === undefined) return;

  app.get(
    '/api/v1/nodes/:name/settings',
    {
      config: { allow: 'read' },
      schema: {
        operationId: 'nodeSettings',
        tags: ['fleet'],
        summary: 'Settings asked for, and settings in force by the node’s own word',
        params: NodeParamsSchema,
        response: { 200: component(SettingsStorySchema) },
      },
    },
    async (request) => {
      const node = await findNode(nodes, request.params.name);
      return storyJson(node.name, await settings.story(node.id));
    },
  );

  app.post(
    '/api/v1/nodes/:name/settings',
    {
      config: { allow: 'change-nodes' },
      schema: {
        operationId: 'askForSettings',
        tags: ['fleet'],
        summary: 'Ask a node to log or publish otherwise, until a date',
        description:
          'The request waits at the broker until the node comes by; it takes effect when the node says so.',
        params: NodeParamsSchema,
        body: component(NewSettingsRequestSchema),
        response: { 201: component(SettingsStorySchema) },
      },
    },
    async (request, reply) => {
      const node = await findNode(nodes, request.params.name);
      await settings.ask(node, requestFrom(request.body, now()), principalOf(request).account);
      reply.code(201);
      return storyJson(node.name, await settings.story(node.id));
    },
  );
}

function requestFrom(body: NewSettingsRequestJson, nowMs: number): SettingsRequest {
  const { logEveryS, publishEveryS, thriftUntil } = body;
  const thriftUntilMs = thriftUntil === undefined ? undefined : Date.parse(thriftUntil);
  if (
    thriftUntilMs !== undefined &&
    !(thriftUntilMs > nowMs && thriftUntilMs <= nowMs + LONGEST_THRIFT_MS)
  )
    throw refused('/thriftUntil', 'must lie ahead, within a year');
  if (logEveryS !== undefined && publishEveryS !== undefined && publishEveryS < logEveryS)
    throw refused('/publishEveryS', 'must not be shorter than logEveryS');
  return {
    id: randomBytes(6).toString('hex'),
    ...(logEveryS === undefined ? {} : { logEveryS }),
    ...(publishEveryS === undefined ? {} : { publishEveryS }),
    // The wire has whole seconds.
    ...(thriftUntilMs === undefined
      ? {}
      : { thriftUntilMs: Math.round(thriftUntilMs / 1000) * 1000 }),
  };
}

const refused = (pointer: string, detail: string): ApiProblem =>
  new ApiProblem('range-invalid', `In the body, ${pointer} ${detail}.`, {
    errors: [{ pointer, detail }],
  });

const storyJson = (node: string, { inForce, requests }: SettingsStory): SettingsStoryJson => ({
  node,
  inForce:
    inForce === undefined
      ? null
      : {
          requestId: inForce.settings.id,
          logEveryS: inForce.settings.logEveryS,
          publishEveryS: inForce.settings.publishEveryS,
          thriftUntil: instantOrNull(inForce.settings.thriftUntilMs),
          refusal: inForce.settings.refusal ?? null,
          saidAt: instant(inForce.saidAtMs),
        },
  requests: requests.map(({ request, askedAtMs, askedBy, answeredAtMs, refusal }) => ({
    id: request.id,
    logEveryS: request.logEveryS ?? null,
    publishEveryS: request.publishEveryS ?? null,
    thriftUntil: instantOrNull(request.thriftUntilMs),
    askedAt: instant(askedAtMs),
    askedBy,
    answeredAt: instantOrNull(answeredAtMs),
    refusal: refusal ?? null,
  })),
});
