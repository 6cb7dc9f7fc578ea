import { ApiProblem } from '../replies/api-problem.ts';

/** The question is not well formed: 400. */
export const badQuery = (option: string, detail: string): ApiProblem =>
  new ApiProblem('query-invalid', `${option} ${detail}.`, {
    errors: [{ pointer: `/${option}`, detail }],
  });

/** Well formed, and more than this door does: 501 (OGC 15-078r6, requirement 21). */
export const beyondDoor = (option: string, detail: string): ApiProblem =>
  new ApiProblem('query-unsupported', `${option}: ${detail}.`, {
    errors: [{ pointer: `/${option}`, detail }],
  });

export const noEntity = (what: string): ApiProblem =>
  new ApiProblem('entity-unknown', `There is no ${what} here.`);
