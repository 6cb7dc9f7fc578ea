import {
  NewPartSchema,
  PartListSchema,
  PartRemovalSchema,
  PartReplacementSchema,
  PartSchema,
} from '@duskline/contract';
import type { NewPartJson } from '@duskline/contract';
import {
  powerWithPart,
  type Part,
  type PartKind,
  type SiteId,
  type SiteView,
} from '@duskline/domain';
import Type from 'typebox';
import { principalOf } from '../access/guard-routes.ts';
import type { ApiDeps } from '../api-deps.ts';
import type { Door } from '../door.ts';
import { partJson } from '../json/part-json.ts';
import { component } from '../openapi/component-schemas.ts';
import { ApiProblem } from '../replies/api-problem.ts';
import { findSite, SiteParamsSchema } from './find-site.ts';
import { refuseConflict } from './refuse-conflict.ts';

const PartParamsSchema = Type.Object({
  siteId: SiteParamsSchema.properties.siteId,
  partId: Type.String({ pattern: '^[0-9]{1,15}$', description: 'Id of the part.' }),
});

type FoundPorts = ApiDeps & { readonly parts: NonNullable<ApiDeps['parts']> };

export function partRoutes(app: Door, deps: ApiDeps): void {
  const { parts } = deps;
  if (parts === undefined) return;
  listParts(app, { ...deps, parts });
  addPart(app, { ...deps, parts });
  replacePart(app, { ...deps, parts });
  removePart(app, { ...deps, parts });
}

function listParts(app: Door, { views, parts }: FoundPorts): void {
  app.get(
    '/api/v1/sites/:siteId/parts',
    {
      config: { allow: 'read' },
      schema: {
        operationId: 'parts',
        tags: ['parts'],
        summary: 'Parts of a site: those that are there, then those that were',
        params: SiteParamsSchema,
        response: { 200: component(PartListSchema) },
      },
    },
    async (request) => {
      const { site } = await findSite(views, request.params.siteId);
      return { parts: (await parts.list(site.id)).map(partJson) };
    },
  );
}

function addPart(app: Door, { views, parts, now }: FoundPorts): void {
  app.post(
    '/api/v1/sites/:siteId/parts',
    {
      config: { allow: 'change-nodes' },
      schema: {
        operationId: 'addPart',
        tags: ['parts'],
        summary: 'Add a part',
        description:
          'What is fitted already is written down; the rating of a panel or battery becomes that of the node.',
        params: SiteParamsSchema,
        body: component(NewPartSchema),
        response: { 201: component(PartSchema) },
      },
    },
    async (request, reply) => {
      const view = await findSite(views, request.params.siteId);
      const part = partFrom(request.body, { siteId: view.site.id, nowMs: now() });
      const made = await refuseConflict(
        () => parts.add(part, powerChange(view, part)),
        taken(part),
      );
      reply.code(201);
      return partJson(made);
    },
  );
}

function replacePart(app: Door, { views, parts, now, outlookDesk }: FoundPorts): void {
  app.post(
    '/api/v1/sites/:siteId/parts/:partId/replace',
    {
      config: { allow: 'change-nodes' },
      schema: {
        operationId: 'replacePart',
        tags: ['parts'],
        summary: 'Put another part in the place of this one',
        description:
          'The old one ends when the new one was fitted. What was learnt of a panel, battery or load begins anew then.',
        params: PartParamsSchema,
        body: component(PartReplacementSchema),
        response: { 201: component(PartSchema) },
      },
    },
    async (request, reply) => {
      const view = await findSite(views, request.params.siteId);
      const old = await fittedPart(parts, view.site.id, request.params.partId);
      const next = partFrom(
        { ...request.body, kind: old.kind },
        { siteId: view.site.id, nowMs: now() },
      );
      if (next.fittedAtMs < old.fittedAtMs)
        throw badTime('/fittedAt', 'is before the old part was fitted');
      const made = await refuseConflict(
        () => parts.replace(old.id, next, powerChange(view, next)),
        taken(next),
      );
      if (made === undefined) throw unknown();
      if (view.node !== undefined) {
        // The rating is new: what is learnt from here on is measured against it.
        const node = { ...view.node, power: powerWithPart(view.node.power, next) };
        await outlookDesk?.partReplaced(
          node,
          { kind: next.kind, atMs: next.fittedAtMs },
          principalOf(request).account,
        );
      }
      reply.code(201);
      return partJson(made);
    },
  );
}

function removePart(app: Door, { views, parts, now }: FoundPorts): void {
  app.post(
    '/api/v1/sites/:siteId/parts/:partId/remove',
    {
      config: { allow: 'change-nodes' },
      schema: {
        operationId: 'removePart',
        tags: ['parts'],
        summary: 'A part was taken out',
        description: 'It stays in the list of those that were, with its story.',
        params: PartParamsSchema,
        body: component(PartRemovalSchema),
        response: { 200: component(PartSchema) },
      },
    },
    async (request) => {
      const { site } = await findSite(views, request.params.siteId);
      const old = await fittedPart(parts, site.id, request.params.partId);
      const atMs = pastInstant(request.body.removedAt, '/removedAt', now());
      if (atMs < old.fittedAtMs) throw badTime('/removedAt', 'is before the part was fitted');
      const removed = await parts.remove(old.id, atMs);
      if (removed === undefined) throw unknown();
      return partJson(removed);
    },
  );
}

async function fittedPart(parts: FoundPorts['parts'], siteId: SiteId, id: string): Promise<Part> {
  const part = await parts.find(id);
  if (part === undefined || part.siteId !== siteId || part.removedAtMs !== undefined)
    throw unknown();
  return part;
}

function partFrom(
  body: NewPartJson & { readonly kind: PartKind },
  { siteId, nowMs }: { readonly siteId: SiteId; readonly nowMs: number },
): Omit<Part, 'id' | 'removedAtMs' | 'replacedBy'> {
  const { calibration } = body;
  return {
    siteId,
    kind: body.kind,
    serial: body.serial.trim(),
    maker: body.maker.trim(),
    fittedAtMs: pastInstant(body.fittedAt, '/fittedAt', nowMs),
    rated: body.rated ?? {},
    ...(calibration === undefined
      ? {}
      : {
          calibration: {
            coefficients: calibration.coefficients,
            atMs: pastInstant(calibration.at, '/calibration/at', nowMs),
            ...(calibration.uncertainty === undefined
              ? {}
              : { uncertainty: calibration.uncertainty }),
            unit: calibration.unit,
          },
        }),
    notes: body.notes ?? '',
  };
}

function powerChange({ node }: SiteView, part: Pick<Part, 'kind' | 'rated'>) {
  if (node === undefined) return undefined;
  const power = powerWithPart(node.power, part);
  return power === node.power ? undefined : { nodeId: node.id, power };
}

/** Clocks of phones are some minutes off. */
const SLACK_MS = 10 * 60_000;

function pastInstant(text: string, pointer: string, nowMs: number): number {
  const atMs = Date.parse(text);
  if (!Number.isFinite(atMs)) throw badTime(pointer, 'cannot be read as a time');
  if (atMs > nowMs + SLACK_MS) throw badTime(pointer, 'lies in the future');
  return atMs;
}

const badTime = (pointer: string, detail: string): ApiProblem =>
  new ApiProblem('range-invalid', `In the body, ${pointer} ${detail}.`, {
    errors: [{ pointer, detail }],
  });

const unknown = (): ApiProblem =>
  new ApiProblem('part-unknown', 'There is no such part at this site any more.');

const taken = ({ kind, maker, serial }: Pick<Part, 'kind' | 'maker' | 'serial'>): ApiProblem =>
  new ApiProblem(
    'part-fitted-already',
    `A ${kind} ${maker} with the serial ${serial} is fitted somewhere already: take it out there first.`,
    { errors: [{ pointer: '/serial', detail: 'is fitted already' }] },
  );
