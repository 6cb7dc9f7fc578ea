import { ApiProblem } from '../replies/api-problem.ts';

/** An instant of a body. @throws ApiProblem `range-invalid` */
export function bodyInstant(text: string, pointer: string): number {
  const atMs = Date.parse(text);
  if (!Number.isFinite(atMs)) throw rangeProblem(pointer, 'cannot be read as a time');
  return atMs;
}

export const rangeProblem = (pointer: string, detail: string): ApiProblem =>
  new ApiProblem('range-invalid', `In the body, ${pointer} ${detail}.`, {
    errors: [{ pointer, detail }],
  });
