import {
  LearntResetSchema,
  LearntSchema,
  OutlookInputsSchema,
  OutlookListQuerySchema,
  OutlookListSchema,
  SeasonSchema,
  WhatHelpsSchema,
  WhatIfAnswerSchema,
  WhatIfSchema,
} from '@duskline/contract';
import { DAY_MS, parseNodeName, type FieldNode } from '@duskline/domain';
import Type from 'typebox';
import { principalOf } from '../access/guard-routes.ts';
import type { ApiDeps } from '../api-deps.ts';
import type { Door } from '../door.ts';
import { component } from '../openapi/component-schemas.ts';
import type { OutlookDesk } from '../outlook-desk.ts';
import { ApiProblem } from '../replies/api-problem.ts';

export const NodeParamsSchema = Type.Object({
  name: Type.String({ description: 'Name of the node on the wire.', examples: ['rushy-sluice-1'] }),
});
const OutlookParamsSchema = Type.Object({
  name: NodeParamsSchema.properties.name,
  id: Type.String({ description: 'Id of the outlook, as the list of outlooks gives it.' }),
});

/** @throws ApiProblem `node-unknown` */
export async function findNode(nodes: ApiDeps['nodes'], text: string): Promise<FieldNode> {
  const name = parseNodeName(text);
  const node = name === undefined ? undefined : await nodes.findByName(name);
  if (node === undefined) throw new ApiProblem('node-unknown', 'There is no node of this name.');
  return node;
}

export function outlookRoutes(app: Door, { outlookDesk: desk, nodes }: ApiDeps): void {
  if (desk === undefined) return;
  learntRoutes(app, desk, nodes);
  historyRoutes(app, desk, nodes);
  thoughtRoutes(app, desk, nodes);
}

function learntRoutes(app: Door, desk: OutlookDesk, nodes: ApiDeps['nodes']): void {
  app.get(
    '/api/v1/nodes/:name/learnt',
    {
      config: { allow: 'read' },
      schema: {
        operationId: 'learnt',
        tags: ['outlooks'],
        summary: 'What was learnt of a node, from how many days, and how sure that is',
        params: NodeParamsSchema,
        response: { 200: component(LearntSchema) },
      },
    },
    async (request) => desk.learnt(await findNode(nodes, request.params.name)),
  );

  app.post(
    '/api/v1/nodes/:name/learnt/reset',
    {
      config: { allow: 'change-nodes' },
      schema: {
        operationId: 'resetLearnt',
        tags: ['outlooks'],
        summary: 'Learn one thing anew',
        description:
          'For what was cleaned, mended or replaced: what was read before no longer counts for it.',
        params: NodeParamsSchema,
        body: component(LearntResetSchema),
        response: { 200: component(LearntSchema) },
      },
    },
    async (request) =>
      desk.reset(
        await findNode(nodes, request.params.name),
        request.body,
        principalOf(request).account,
      ),
  );
}

const LONGEST_MS = 20 * 366 * DAY_MS;

function historyRoutes(app: Door, desk: OutlookDesk, nodes: ApiDeps['nodes']): void {
  app.get(
    '/api/v1/nodes/:name/outlooks',
    {
      config: { allow: 'read' },
      schema: {
        operationId: 'outlooks',
        tags: ['outlooks'],
        summary: 'Outlooks of a node as they were issued, and how they turned out',
        params: NodeParamsSchema,
        querystring: component(OutlookListQuerySchema),
        response: { 200: component(OutlookListSchema) },
      },
    },
    async (request) => {
      const node = await findNode(nodes, request.params.name);
      const fromMs = Date.parse(request.query.from);
      const toMs = Date.parse(request.query.to);
      if (!(toMs > fromMs && toMs - fromMs <= LONGEST_MS))
        throw new ApiProblem(
          'range-invalid',
          'In the address, to must be later than from, by 20 years at most.',
          { errors: [{ pointer: '/to', detail: 'must be later than from' }] },
        );
      return desk.outlooks(node, { fromMs, toMs });
    },
  );

  app.get(
    '/api/v1/nodes/:name/outlooks/:id/inputs',
    {
      config: { allow: 'read' },
      schema: {
        operationId: 'outlookInputs',
        tags: ['outlooks'],
        summary: 'All that an outlook follows from',
        description:
          'The same program makes the same outlook of them; whether it does is tried and said.',
        params: OutlookParamsSchema,
        response: { 200: component(OutlookInputsSchema) },
      },
    },
    async (request) => {
      const node = await findNode(nodes, request.params.name);
      const inputs = await desk.inputs(node, request.params.id);
      if (inputs === undefined)
        throw new ApiProblem(
          'outlook-unknown',
          'There is no such outlook of this node, or it was issued before its inputs were kept.',
        );
      return inputs;
    },
  );
}

function thoughtRoutes(app: Door, desk: OutlookDesk, nodes: ApiDeps['nodes']): void {
  const { whatIf, whatHelps, season } = desk;
  if (whatIf !== undefined)
    app.post(
      '/api/v1/nodes/:name/what-if',
      {
        config: { allow: 'read' },
        schema: {
          operationId: 'whatIf',
          tags: ['outlooks'],
          summary: 'The outlook if the node were otherwise, in the same weathers',
          description: 'Nothing is changed and nothing is kept.',
          params: NodeParamsSchema,
          body: component(WhatIfSchema),
          response: { 200: component(WhatIfAnswerSchema) },
        },
      },
      async (request) => {
        const answer = await whatIf(await findNode(nodes, request.params.name), request.body);
        if (answer === undefined)
          throw new ApiProblem(
            'outlook-unknown',
            'There is no outlook of this node yet to change anything in.',
          );
        return answer;
      },
    );

  if (whatHelps !== undefined)
    app.get(
      '/api/v1/nodes/:name/what-helps',
      {
        config: { allow: 'read' },
        schema: {
          operationId: 'whatHelps',
          tags: ['outlooks'],
          summary: 'What would help a node, each with the days gained',
          params: NodeParamsSchema,
          response: { 200: component(WhatHelpsSchema) },
        },
      },
      async (request) => whatHelps(await findNode(nodes, request.params.name)),
    );

  if (season !== undefined)
    app.get(
      '/api/v1/nodes/:name/season',
      {
        config: { allow: 'read' },
        schema: {
          operationId: 'season',
          tags: ['outlooks'],
          summary: 'Chance of going dark by month, a year ahead',
          params: NodeParamsSchema,
          response: { 200: component(SeasonSchema) },
        },
      },
      async (request) => season(await findNode(nodes, request.params.name)),
    );
}
