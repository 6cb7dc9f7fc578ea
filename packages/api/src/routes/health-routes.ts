import { HealthSchema, ReadinessSchema } from '@duskline/contract';
import type { FastifyBaseLogger } from 'fastify';
import type { ApiDeps } from '../api-deps.ts';
import type { Door } from '../door.ts';
import { component } from '../openapi/component-schemas.ts';
import { ApiProblem, type ProblemPart } from '../replies/api-problem.ts';

/** A check that has not answered by then has failed. */
const PATIENCE_MS = 2000;

export function healthRoutes(app: Door, { ping, readiness, warnings }: ApiDeps): void {
  app.get(
    '/healthz',
    {
      config: { allow: 'anyone' },
      schema: {
        operationId: 'health',
        tags: ['server'],
        summary: 'Is the process there?',
        response: { 200: component(HealthSchema) },
      },
    },
    async () => ({ status: 'ok' as const }),
  );

  app.get(
    '/readyz',
    {
      config: { allow: 'anyone' },
      schema: {
        operationId: 'readiness',
        tags: ['server'],
        summary: 'Can it do its work?',
        description: 'Asks the database and looks at the broker, the migrations and the sweep.',
        response: { 200: component(ReadinessSchema) },
      },
    },
    async (request, reply) => {
      const checks = [storeCheck(ping), ...readiness];
      const found = await Promise.all(
        checks.map(async (one) => [one.name, await look(one, request.log)]),
      );
      const errors = found.flatMap(([name, fault]): ProblemPart[] =>
        fault === undefined ? [] : [{ pointer: `/${name ?? ''}`, detail: fault }],
      );
      if (errors.length > 0)
        throw new ApiProblem('not-ready', errors.map((one) => one.detail).join(' '), { errors });
      reply.header('cache-control', 'no-store');
      const said = warnings?.() ?? [];
      return {
        status: 'ready' as const,
        checks: checks.map((one) => one.name),
        ...(said.length === 0 ? {} : { warnings: [...said] }),
      };
    },
  );
}

interface Check {
  readonly name: string;
  readonly fault: () => Promise<string | undefined>;
}

const storeCheck = (ping: () => Promise<void>): Check => ({
  name: 'store',
  fault: async () => {
    await ping();
    return undefined;
  },
});

/** What a failed check threw stays inside: whoever asks needs no more than which one it was. */
async function look({ name, fault }: Check, log: FastifyBaseLogger): Promise<string | undefined> {
  let timer: NodeJS.Timeout | undefined;
  const tooLate = new Promise<string>((resolve) => {
    timer = setTimeout(() => {
      resolve(`The ${name} did not answer within ${PATIENCE_MS / 1000} s.`);
    }, PATIENCE_MS);
  });
  try {
    return await Promise.race([fault(), tooLate]);
  } catch (err) {
    log.warn({ err, check: name }, 'a readiness check failed');
    return `The check of the ${name} failed; the log says why.`;
  } finally {
    clearTimeout(timer);
  }
}
