import { ProblemSchema } from '@duskline/contract';
import Type from 'typebox';
import type { Door } from '../door.ts';
import { component } from '../openapi/component-schemas.ts';
import { ApiProblem, problemJson } from '../replies/api-problem.ts';
import { problemCatalogue, problemCodes } from '../replies/problem-catalogue.ts';

/** What the API says of itself. */
export function documentRoutes(app: Door): void {
  app.get(
    '/api/v1/openapi.json',
    {
      config: { allow: 'anyone' },
      schema: {
        operationId: 'openapi',
        tags: ['server'],
        summary: 'This document',
        response: {
          200: Type.Object(
            { openapi: Type.String() },
            { description: 'OpenAPI 3.1', additionalProperties: true },
          ),
        },
      },
    },
    async () => app.swagger() as { openapi: string },
  );

  app.get(
    '/api/v1/problems/:code',
    {
      config: { allow: 'anyone' },
      schema: {
        operationId: 'problem',
        tags: ['server'],
        summary: 'What a problem means',
        description: 'The `type` of every problem is an address of this form.',
        params: Type.Object({
          code: Type.String({ description: 'Code of the problem.', examples: ['site-unknown'] }),
        }),
        response: { 200: component(ProblemSchema) },
      },
    },
    async (request) => {
      const code = problemCodes.find((one) => one === request.params.code);
      if (code === undefined)
        throw new ApiProblem('problem-unknown', `Those there are: ${problemCodes.join(', ')}.`);
      return problemJson(new ApiProblem(code, problemCatalogue[code].title));
    },
  );
}
