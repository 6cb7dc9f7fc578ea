import type { FastifyInstance, InjectOptions, LightMyRequestResponse } from 'fastify';
import type { ApiDeps } from '../src/api-deps.ts';
import { createApi } from '../src/create-api.ts';
import type { Role } from '@duskline/domain';
import { contractCheck } from './contract-check.ts';
import { fakeFleet, type FakeFleet } from './fake-ports.ts';

/** The API over fakes, asked without a network. Every answer is held against its document. */
export interface OpenApi {
  readonly app: FastifyInstance;
  readonly fleet: FakeFleet;
  readonly document: Readonly<Record<string, unknown>>;
  /** Asks as a program of no name, or with the cookie of a fresh session of that role. */
  ask(request: InjectOptions & { url: string; as?: Role }): Promise<LightMyRequestResponse>;
}

export const OWN_ORIGIN = 'http://localhost:80';

export async function openApi(overrides: Partial<ApiDeps> = {}): Promise<OpenApi> {
  const fleet = await fakeFleet(overrides);
  const app = await createApi(fleet.deps);
  const document = (await app.inject('/api/v1/openapi.json')).json<Record<string, unknown>>();
  const check = contractCheck(document);
  return {
    app,
    fleet,
    document,
    async ask({ as, ...request }) {
      const headers: Record<string, unknown> = { ...request.headers };
      if (as !== undefined) {
        headers['cookie'] ??= `duskline=${fleet.openSession(as)}`;
        headers['origin'] ??= OWN_ORIGIN;
      }
      const answer = await app.inject({ ...request, headers: headers as never });
      const { url } = request;
      const faults = check(request.method ?? 'GET', url, answer);
      if (faults.length > 0)
        throw new Error(
          `${request.method ?? 'GET'} ${url} answered ${answer.statusCode} against its document:\n${faults.join('\n')}\n${answer.body.slice(0, 500)}`,
        );
      return answer;
    },
  };
}
