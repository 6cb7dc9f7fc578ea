import {
  QualityLimitsSchema,
  QualityRulesQuerySchema,
  QualityRulesSchema,
  SetQualityLimitsSchema,
} from '@duskline/contract';
import type { QualityLimitsJson, QualityRulesJson, SetQualityLimitsJson } from '@duskline/contract';
import {
  metric,
  metricOf,
  parseNodeName,
  qualityFlags,
  qualityWords,
  type LimitOverrides,
} from '@duskline/domain';
import Type from 'typebox';
import { principalOf } from '../access/guard-routes.ts';
import type { ApiDeps, LimitScope } from '../api-deps.ts';
import type { Door } from '../door.ts';
import { instant } from '../json/instant.ts';
import { component } from '../openapi/component-schemas.ts';
import { ApiProblem } from '../replies/api-problem.ts';
import { findSite, SiteParamsSchema } from './find-site.ts';

const NodeParamsSchema = Type.Object({
  name: Type.String({ description: 'Name of the node on the wire.', examples: ['rushy-sluice-1'] }),
});

const PartParamsSchema = Type.Object({
  partId: Type.String({
    pattern: '^[0-9]{1,15}$',
    description: 'Id of the part.',
    examples: ['3'],
  }),
});

/** The tests of readings, and the limits that people set for them. */
export function qualityRoutes(app: Door, deps: ApiDeps): void {
  const { views, nodes, qualityLimits } = deps;
  const ofSite = async (text: string): Promise<LimitScope> => ({
    kind: 'site',
    name: (await findSite(views, text)).site.id,
  });
  const ofNode = async (text: string): Promise<LimitScope> => {
    const name = parseNodeName(text);
    if (name === undefined || (await nodes.findByName(name)) === undefined)
      throw new ApiProblem('node-unknown', 'There is no node of this name.');
    return { kind: 'node', name };
  };

  app.get(
    '/api/v1/quality-rules',
    {
      config: { allow: 'read' },
      schema: {
        operationId: 'qualityRules',
        tags: ['fleet'],
        summary: 'The tests of readings, with the limits in force',
        description:
          'Of the node at a site, for readings of now: parts that are fitted bring limits of their own. Without a site, the defaults.',
        querystring: component(QualityRulesQuerySchema),
        response: { 200: component(QualityRulesSchema) },
      },
    },
    async (request): Promise<QualityRulesJson> => {
      const { site } = request.query;
      const node = site === undefined ? undefined : (await findSite(views, site)).node;
      return rulesJson(
        deps.qualityRules(
          node === undefined ? [] : await qualityLimits.inForce(node.id),
          deps.now(),
        ),
      );
    },
  );

  const answer = { 200: component(SetQualityLimitsSchema) };
  app.get(
    '/api/v1/sites/:siteId/quality-limits',
    {
      config: { allow: 'read' },
      schema: {
        operationId: 'siteQualityLimits',
        tags: ['setup'],
        summary: 'Limits set for a site over the defaults',
        params: SiteParamsSchema,
        response: answer,
      },
    },
    async (request) => limitsJson(deps, await ofSite(request.params.siteId)),
  );
  app.put(
    '/api/v1/sites/:siteId/quality-limits',
    {
      config: { allow: 'change-nodes' },
      schema: {
        operationId: 'setSiteQualityLimits',
        tags: ['setup'],
        summary: 'Set the limits of a site, in place of those set before',
        description: 'Every reading of the site is tested again. Nothing is deleted.',
        params: SiteParamsSchema,
        body: component(QualityLimitsSchema),
        response: answer,
      },
    },
    async (request) =>
      keep(deps, await ofSite(request.params.siteId), {
        body: request.body,
        by: principalOf(request).account.name,
      }),
  );
  app.get(
    '/api/v1/nodes/:name/quality-limits',
    {
      config: { allow: 'read' },
      schema: {
        operationId: 'nodeQualityLimits',
        tags: ['setup'],
        summary: 'Limits set for a node over those of its site',
        params: NodeParamsSchema,
        response: answer,
      },
    },
    async (request) => limitsJson(deps, await ofNode(request.params.name)),
  );
  app.put(
    '/api/v1/nodes/:name/quality-limits',
    {
      config: { allow: 'change-nodes' },
      schema: {
        operationId: 'setNodeQualityLimits',
        tags: ['setup'],
        summary: 'Set the limits of a node, in place of those set before',
        description: 'Every reading of the node is tested again. Nothing is deleted.',
        params: NodeParamsSchema,
        body: component(QualityLimitsSchema),
        response: answer,
      },
    },
    async (request) =>
      keep(deps, await ofNode(request.params.name), {
        body: request.body,
        by: principalOf(request).account.name,
      }),
  );
  if (deps.parts !== undefined) partLimits(app, { ...deps, parts: deps.parts });
}

/** Of a part that was taken out, too: the readings of its time may come late. */
function partLimits(app: Door, deps: ApiDeps & Required<Pick<ApiDeps, 'parts'>>): void {
  const ofPart = async (id: string): Promise<LimitScope> => {
    if ((await deps.parts.find(id)) === undefined)
      throw new ApiProblem('part-unknown', 'There is no such part.');
    return { kind: 'part', id };
  };
  const response = { 200: component(SetQualityLimitsSchema) };
  app.get(
    '/api/v1/parts/:partId/quality-limits',
    {
      config: { allow: 'read' },
      schema: {
        operationId: 'partQualityLimits',
        tags: ['parts'],
        summary: 'Limits that a part brings with it, over those of its site and node',
        params: PartParamsSchema,
        response,
      },
    },
    async (request) => limitsJson(deps, await ofPart(request.params.partId)),
  );
  app.put(
    '/api/v1/parts/:partId/quality-limits',
    {
      config: { allow: 'change-nodes' },
      schema: {
        operationId: 'setPartQualityLimits',
        tags: ['parts'],
        summary: 'Set the limits of a part, in place of those set before',
        description:
          'They hold for readings observed while it was fitted, also when they come late; those are tested again. Where two parts that are fitted at the same time set the same limit of the same metric, that of the later fitted holds. Nothing is deleted.',
        params: PartParamsSchema,
        body: component(QualityLimitsSchema),
        response,
      },
    },
    async (request) =>
      keep(deps, await ofPart(request.params.partId), {
        body: request.body,
        by: principalOf(request).account.name,
      }),
  );
}

async function keep(
  deps: ApiDeps,
  scope: LimitScope,
  { body, by }: { readonly body: QualityLimitsJson; readonly by: string },
): Promise<SetQualityLimitsJson> {
  const limits = limitsFrom(body);
  const faults = deps.faultsOfLimits(limits);
  if (faults.length > 0) throw new ApiProblem('limits-invalid', faults.join(' '));
  await deps.qualityLimits.set(scope, { limits, setBy: by, setAtMs: deps.now() });
  return await limitsJson(deps, scope);
}

function limitsFrom(body: QualityLimitsJson): LimitOverrides {
  const unknown = Object.keys(body.metrics ?? {}).find((key) => metricOf(key) === undefined);
  if (unknown !== undefined)
    throw new ApiProblem('metric-unknown', `There is no metric ${unknown}.`, {
      errors: [{ pointer: `/metrics/${unknown}`, detail: 'is not in the catalogue' }],
    });
  // The schema has checked the shape: keys are metrics, spans have two ends.
  return body;
}

async function limitsJson(deps: ApiDeps, scope: LimitScope): Promise<SetQualityLimitsJson> {
  const below = await scopesBeneath(deps, scope);
  const [set, ...layers] = await Promise.all(
    [scope, ...below].map((one) => deps.qualityLimits.find(one)),
  );
  const beneath = deps.limitsBeneath(
    below.map(({ kind }, at) => ({ from: kind, limits: layers[at]?.limits ?? {} })),
  );
  return {
    limits: (set?.limits ?? {}) as QualityLimitsJson,
    setBy: set?.setBy ?? null,
    setAt: set === undefined ? null : instant(set.setAtMs),
    beneath: beneath as SetQualityLimitsJson['beneath'],
  };
}

/** Whose limits hold where a scope has none: of a part its site's and its node's, of a node its site's. */
async function scopesBeneath(
  { nodes, parts, views }: ApiDeps,
  scope: LimitScope,
): Promise<readonly Exclude<LimitScope, { kind: 'part' }>[]> {
  if (scope.kind === 'site') return [];
  if (scope.kind === 'node') {
    const node = parseNodeName(scope.name);
    const found = node === undefined ? undefined : await nodes.findByName(node);
    return found === undefined ? [] : [{ kind: 'site', name: found.siteId }];
  }
  const part = await parts?.find(scope.id);
  if (part === undefined) return [];
  const node = (await views.site(part.siteId))?.node;
  return [
    { kind: 'site', name: part.siteId },
    ...(node === undefined ? [] : [{ kind: 'node' as const, name: node.name }]),
  ];
}

const rulesJson = (rules: ReturnType<ApiDeps['qualityRules']>): QualityRulesJson => ({
  flags: qualityWords.map((word) => ({ flag: qualityFlags[word], word })),
  rules: rules.map((rule) => ({
    test: rule.test,
    says: rule.says,
    source: rule.source,
    limits: rule.limits.map(({ metric: key, limit }) => ({
      metric: key,
      label: metric(key).label,
      limit,
    })),
  })),
});
