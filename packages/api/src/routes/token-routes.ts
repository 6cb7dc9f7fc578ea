import { IssuedTokenSchema, NewTokenSchema, TokenListSchema } from '@duskline/contract';
import type { IssuedTokenJson } from '@duskline/contract';
import { DAY_MS } from '@duskline/domain';
import Type from 'typebox';
import { newApiToken } from '../access/api-token.ts';
import { principalOf } from '../access/guard-routes.ts';
import type { ApiDeps, TokenListPort } from '../api-deps.ts';
import type { Door } from '../door.ts';
import { instant, instantOrNull } from '../json/instant.ts';
import { component } from '../openapi/component-schemas.ts';
import { ApiProblem } from '../replies/api-problem.ts';

/** One's own tokens. A token cannot make another: one that was stolen cannot outlive its end. */
export function tokenRoutes(app: Door, { accounts, tokens, now }: ApiDeps): void {
  app.post(
    '/api/v1/tokens',
    {
      config: { allow: 'read', by: 'session' },
      schema: {
        operationId: 'createToken',
        tags: ['access'],
        summary: 'A token for a program',
        description: 'Answers with the token, this once.',
        body: component(NewTokenSchema),
        response: { 201: component(IssuedTokenSchema) },
      },
    },
    async (request, reply) => {
      const { account, permissions: own } = principalOf(request);
      const { name, permissions, days } = request.body;
      const beyond = permissions.find((one) => !own.includes(one));
      if (beyond !== undefined)
        throw new ApiProblem(
          'permission-beyond-role',
          `You do not have the permission “${beyond}” yourself: leave it out, or ask a keeper.`,
          { errors: [{ pointer: '/permissions', detail: `“${beyond}” is not yours to give` }] },
        );
      const { token, hash } = newApiToken(permissions);
      const expiresAtMs = now() + days * DAY_MS;
      await accounts.createToken({ accountId: account.id, name, tokenHash: hash, expiresAtMs });
      reply.code(201).header('cache-control', 'no-store');
      const expiresAt = instant(expiresAtMs);
      return { name, permissions, expiresAt, token } satisfies IssuedTokenJson;
    },
  );
  if (tokens !== undefined) tokenListRoutes(app, tokens);
}

function tokenListRoutes(app: Door, tokens: TokenListPort): void {
  app.get(
    '/api/v1/tokens',
    {
      config: { allow: 'read', by: 'session' },
      schema: {
        operationId: 'tokens',
        tags: ['access'],
        summary: 'My tokens',
        response: { 200: component(TokenListSchema) },
      },
    },
    async (request, reply) => {
      reply.header('cache-control', 'no-store');
      const mine = await tokens.list(principalOf(request).account.id);
      return {
        tokens: mine.map(({ id, name, createdAtMs, expiresAtMs }) => ({
          id,
          name,
          createdAt: instant(createdAtMs),
          expiresAt: instantOrNull(expiresAtMs),
        })),
      };
    },
  );

  app.delete(
    '/api/v1/tokens/:id',
    {
      config: { allow: 'read', by: 'session' },
      schema: {
        operationId: 'endToken',
        tags: ['access'],
        summary: 'End one of my tokens',
        params: Type.Object({ id: Type.String({ description: 'Id of the token.' }) }),
        response: { 204: Type.Null({ description: 'It opens nothing any more.' }) },
      },
    },
    async (request, reply) => {
      if (!(await tokens.end(principalOf(request).account.id, request.params.id)))
        throw new ApiProblem('token-unknown', 'You have no token of this id.');
      return reply.code(204).send(null);
    },
  );
}
