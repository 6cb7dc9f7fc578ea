import type { Problem } from '@duskline/contract';

/** The API said no, or could not be reached (status 0): always with a code a page can act on. */
export class ApiProblem extends Error {
  readonly status: number;
  readonly code: string;
  readonly fields: readonly { readonly pointer: string; readonly detail: string }[];

  constructor(status: number, problem: Partial<Problem>, options?: ErrorOptions) {
    super(problem.detail ?? problem.title ?? 'The server did not answer.', options);
    this.name = 'ApiProblem';
    this.status = status;
    this.code = problem.code ?? 'UNREACHABLE';
    this.fields = problem.errors ?? [];
  }
}
