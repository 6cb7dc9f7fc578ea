import type { FastifyBaseLogger, FastifyError, FastifyReply, FastifyRequest } from 'fastify';
import type { Door } from '../door.ts';
import { ApiProblem, problemJson, PROBLEM_TYPE } from './api-problem.ts';
import { explainError } from './explain-error.ts';

const never = (): boolean => false;

/** Every error leaves as problem details; what is ours to mend goes to the log with its cause. */
export function answerErrors(
  app: Door,
  { isDatabaseLost = never }: { readonly isDatabaseLost?: (error: unknown) => boolean },
): void {
  app.setErrorHandler((error: FastifyError, request, reply) => {
    const bodyLimitBytes = request.routeOptions.bodyLimit;
    const problem = explainError(error, { requestId: request.id, isDatabaseLost, bodyLimitBytes });
    if (problem.status >= 500) report(request.log, problem);
    return sendProblem(reply, problem);
  });
}

/** An address that no route can be looked up for: too long, or not decodable. No hook has run yet. */
export function answerUnroutable(
  _error: FastifyError,
  _request: FastifyRequest,
  reply: FastifyReply,
): void {
  const problem = new ApiProblem('request-invalid', 'The address cannot be read: check it.');
  reply.header('x-content-type-options', 'nosniff');
  sendProblem(reply, problem);
}

export function routeUnknown(request: FastifyRequest): ApiProblem {
  const path = request.url.split('?')[0] ?? '';
  return new ApiProblem(
    'route-unknown',
    `Nothing answers ${request.method} ${path}. GET /api/v1/openapi.json lists what there is.`,
  );
}

export function sendProblem(reply: FastifyReply, problem: ApiProblem): FastifyReply {
  return reply
    .code(problem.status)
    .headers(problem.headers)
    .header('cache-control', 'no-store')
    .type(PROBLEM_TYPE)
    .send(problemJson(problem));
}

function report(log: FastifyBaseLogger, problem: ApiProblem): void {
  log.error({ err: problem.cause ?? problem, code: problem.code }, problem.message);
}
