import {
  RuntimeRequestSchema,
  RuntimeSchema,
  SizingRequestSchema,
  SizingSchema,
} from '@duskline/contract';
import type { Result } from '@duskline/domain';
import type { ApiDeps } from '../api-deps.ts';
import type { Door } from '../door.ts';
import { component } from '../openapi/component-schemas.ts';
import { ApiProblem } from '../replies/api-problem.ts';
import type { SizingFault } from '../sizing-port.ts';

/** Questions with an answer and nothing kept: POST because the question is too large for an address. */
export function sizingRoutes(app: Door, { sizing }: ApiDeps): void {
  if (sizing === undefined) return;

  app.post(
    '/api/v1/sizing',
    {
      config: { allow: 'read' },
      schema: {
        operationId: 'sizeSite',
        tags: ['sizing'],
        summary: 'Panel and battery for a load at a place, month by month',
        description:
          'Dark days by month, the smallest panel and battery for the wished share of time up, and the textbook’s autonomy and array-to-load ratio beside them. Same question and seed, same answer.',
        body: component(SizingRequestSchema),
        response: { 200: component(SizingSchema) },
      },
    },
    (request) => answerOf(sizing.size(request.body)),
  );

  app.post(
    '/api/v1/runtime',
    {
      config: { allow: 'read' },
      schema: {
        operationId: 'runtime',
        tags: ['sizing'],
        summary: 'How long a battery carries a load without any sun',
        body: component(RuntimeRequestSchema),
        response: { 200: component(RuntimeSchema) },
      },
    },
    (request) => answerOf(sizing.runtime(request.body)),
  );
}

async function answerOf<T>(answer: Result<T, readonly SizingFault[]>): Promise<T> {
  if (answer.ok) return Promise.resolve(answer.value);
  const [first] = answer.fault;
  throw new ApiProblem('design-invalid', first?.detail ?? 'This cannot be sized.', {
    errors: [...answer.fault],
  });
}
