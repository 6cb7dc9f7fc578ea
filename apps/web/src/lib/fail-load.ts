import { error } from '@sveltejs/kit';
import { ApiProblem } from './api-client.ts';

/** The API's problem as the page's error; anything else is a bug and stays one. */
export function failLoad(cause: unknown): never {
  if (!(cause instanceof ApiProblem)) throw cause;
  error(cause.status === 0 ? 503 : cause.status, { message: cause.message, code: cause.code });
}
