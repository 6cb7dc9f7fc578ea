import {
  CardConflictsSchema,
  CardImportListSchema,
  CardImportSchema,
  CardPieceSchema,
  CardSettingsSchema,
  NewCardImportSchema,
} from '@duskline/contract';
import type { CardImportJson } from '@duskline/contract';
import { parseNodeName, type Result } from '@duskline/domain';
import Type from 'typebox';
import { principalOf } from '../access/guard-routes.ts';
import type { ApiDeps } from '../api-deps.ts';
import type { CardPort, CardRefusal } from '../card-port.ts';
import type { Door } from '../door.ts';
import { component } from '../openapi/component-schemas.ts';
import { ApiProblem } from '../replies/api-problem.ts';

/** A file comes in pieces, so that each is through within a request's time on a slow line and a broken one goes on where it was. */
export const CARD_PIECE_BYTES = 4 * 1024 * 1024;
const CONFLICTS_SHOWN = 200;

const importParams = Type.Object({
  id: Type.String({ pattern: '^[0-9]{1,9}$', description: 'Number of the import.' }),
});
const pieceParams = Type.Object({
  id: importParams.properties.id,
  place: Type.String({ pattern: '^[0-9]{1,2}$', description: 'Which of its files, from 0.' }),
});

export async function cardRoutes(door: Door, deps: ApiDeps): Promise<void> {
  const { cards } = deps;
  if (cards === undefined) return;
  await door.register(async (scope) => {
    const app = scope as unknown as Door;
    // Of these routes only: nowhere else are bytes taken that are no JSON.
    app.addContentTypeParser(
      'application/octet-stream',
      { parseAs: 'buffer', bodyLimit: CARD_PIECE_BYTES },
      (_request, body, done) => done(null, body),
    );
    lookAtImports(app, cards);
    bringFiles(app, { ...deps, cards });
    goThrough(app, cards);
  });
}

function lookAtImports(app: Door, cards: CardPort): void {
  app.get(
    '/api/v1/card-imports',
    {
      config: { allow: 'read' },
      schema: {
        operationId: 'cardImports',
        tags: ['cards'],
        summary: 'What was brought home on memory cards, the latest first',
        response: { 200: component(CardImportListSchema) },
      },
    },
    async () => ({ imports: [...(await cards.list())] }),
  );
  app.get(
    '/api/v1/card-imports/:id',
    {
      config: { allow: 'read' },
      schema: {
        operationId: 'cardImport',
        tags: ['cards'],
        summary: 'One card import: how far it is, and how its files were understood',
        params: importParams,
        response: { 200: component(CardImportSchema) },
      },
    },
    async (request) => {
      const found = await cards.find(Number(request.params.id));
      if (found === undefined) throw unknown();
      return found;
    },
  );
  app.get(
    '/api/v1/card-imports/:id/conflicts',
    {
      config: { allow: 'read' },
      schema: {
        operationId: 'cardConflicts',
        tags: ['cards'],
        summary: 'Where card and store differ',
        description: `By time, ${CONFLICTS_SHOWN} at a time. The value that was stored is kept.`,
        params: importParams,
        querystring: Type.Object(
          { skip: Type.Optional(Type.Integer({ minimum: 0, maximum: 100_000_000 })) },
          { additionalProperties: false },
        ),
        response: { 200: component(CardConflictsSchema) },
      },
    },
    async (request) => {
      const id = Number(request.params.id);
      if ((await cards.find(id)) === undefined) throw unknown();
      return cards.conflicts(id, { limit: CONFLICTS_SHOWN, skip: request.query.skip ?? 0 });
    },
  );
}

function bringFiles(app: Door, { cards, nodes }: ApiDeps & { readonly cards: CardPort }): void {
  app.post(
    '/api/v1/card-imports',
    {
      config: { allow: 'change-nodes' },
      schema: {
        operationId: 'openCardImport',
        tags: ['cards'],
        summary: 'Begin to bring the files of a memory card',
        description: 'Names and sizes first; then each file in pieces. Nothing is stored yet.',
        body: component(NewCardImportSchema),
        response: { 201: component(CardImportSchema) },
      },
    },
    async (request, reply) => {
      const name = parseNodeName(request.body.node);
      const node = name === undefined ? undefined : await nodes.findByName(name);
      if (node === undefined)
        throw new ApiProblem('node-unknown', 'There is no node of this name.');
      const by = principalOf(request).account.name;
      reply.code(201);
      return cards.open({ node, by, files: request.body.files });
    },
  );
  app.put(
    '/api/v1/card-imports/:id/files/:place',
    {
      config: { allow: 'change-nodes' },
      bodyLimit: CARD_PIECE_BYTES,
      schema: {
        operationId: 'bringCardPiece',
        tags: ['cards'],
        summary: 'A piece of a file',
        description:
          'The bytes from `offset` on, at most 4 MiB, as application/octet-stream. Answers with how much is here.',
        params: pieceParams,
        querystring: Type.Object(
          { offset: Type.Integer({ minimum: 0, maximum: 200_000_000 }) },
          { additionalProperties: false },
        ),
        response: { 200: component(CardPieceSchema) },
      },
    },
    async (request) => {
      if (!Buffer.isBuffer(request.body))
        throw new ApiProblem(
          'content-type-refused',
          'Send the piece as bytes, with the header Content-Type: application/octet-stream.',
        );
      const { id, place } = request.params;
      const { offset } = request.query;
      const bytes: Uint8Array = request.body;
      return granted(await cards.bring(Number(id), { place: Number(place), offset, bytes }));
    },
  );
}

function goThrough(app: Door, cards: CardPort): void {
  app.put(
    '/api/v1/card-imports/:id/settings',
    {
      config: { allow: 'change-nodes' },
      schema: {
        operationId: 'readCard',
        tags: ['cards'],
        summary: 'Read the files, and say how they were understood',
        description:
          'With what you know about them; the rest is guessed, and doubts are said. Ask for the import until its stage is no longer `reading`.',
        params: importParams,
        body: component(CardSettingsSchema),
        response: { 202: component(CardImportSchema) },
      },
    },
    async (request, reply) => {
      reply.code(202);
      return granted(await cards.read(Number(request.params.id), request.body));
    },
  );
  const steps: readonly (readonly [
    path: 'store' | 'stop',
    operationId: string,
    summary: string,
    take: (id: number) => Promise<Result<CardImportJson, CardRefusal>>,
  ])[] = [
    ['store', 'storeCard', 'Store what was read', (id) => cards.store(id)],
    ['stop', 'stopCard', 'Stop reading or storing; what is stored stays', (id) => cards.stop(id)],
  ];
  for (const [path, operationId, summary, take] of steps)
    app.post(
      `/api/v1/card-imports/:id/${path}`,
      {
        config: { allow: 'change-nodes' },
        schema: {
          operationId,
          tags: ['cards'],
          summary,
          params: importParams,
          response: { 202: component(CardImportSchema) },
        },
      },
      async (request, reply) => {
        reply.code(202);
        return granted(await take(Number(request.params.id)));
      },
    );
  app.delete(
    '/api/v1/card-imports/:id',
    {
      config: { allow: 'change-nodes' },
      schema: {
        operationId: 'discardCard',
        tags: ['cards'],
        summary: 'Forget the files that were brought',
        description: 'And the import, if it stored nothing. What was stored stays.',
        params: importParams,
        response: { 204: Type.Null({ description: 'They are gone.' }) },
      },
    },
    async (request, reply) => {
      granted(await cards.discard(Number(request.params.id)));
      return reply.code(204).send(null);
    },
  );
}

const unknown = (): ApiProblem =>
  new ApiProblem('card-import-unknown', 'There is no card import of this number.');

function granted<T>(result: Result<T, CardRefusal>): T {
  if (result.ok) return result.value;
  throw new ApiProblem(result.fault.code, result.fault.detail);
}
