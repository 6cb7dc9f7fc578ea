import type { Problem } from '@duskline/contract';
import { problemCatalogue, type ProblemCode } from './problem-catalogue.ts';

export const PROBLEM_TYPE = 'application/problem+json';
const PROBLEM_ADDRESS = '/api/v1/problems/';

/** What was wrong with one part of the request. `pointer` is an RFC 6901 pointer into it. */
export interface ProblemPart {
  readonly pointer: string;
  readonly detail: string;
}

interface ProblemExtras {
  readonly errors?: readonly ProblemPart[];
  readonly headers?: Readonly<Record<string, string>>;
  readonly cause?: unknown;
}

/**
 * An answer that says no. Thrown by routes and hooks, turned into problem details (RFC 9457) in one place.
 * `message` is for the person who asked: what, where and how to mend it.
 */
export class ApiProblem extends Error {
  readonly code: ProblemCode;
  readonly errors: readonly ProblemPart[];
  readonly headers: Readonly<Record<string, string>>;

  constructor(code: ProblemCode, detail: string, extras: ProblemExtras = {}) {
    super(detail, { cause: extras.cause });
    this.name = 'ApiProblem';
    this.code = code;
    this.errors = extras.errors ?? [];
    this.headers = extras.headers ?? {};
  }

  get status(): number {
    return problemCatalogue[this.code].status;
  }
}

/** The body of a problem. Its `type` can be asked for and explains the code. */
export function problemJson(problem: ApiProblem): Problem {
  const { status, title } = problemCatalogue[problem.code];
  return {
    type: PROBLEM_ADDRESS + problem.code,
    title,
    status,
    detail: problem.message,
    code: problem.code,
    ...(problem.errors.length === 0 ? {} : { errors: [...problem.errors] }),
  };
}
