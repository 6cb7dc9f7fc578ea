import { failed } from '@duskline/domain';
import { describe, expect, it } from 'vitest';
import { openApi } from '../../testing/open-api.ts';
import type { ApiDeps } from '../api-deps.ts';
import { createApi } from '../create-api.ts';
import { sizingExamples } from '../openapi/sizing-examples.ts';

const { sizingRequest, runtimeRequest } = sizingExamples;
const ask = (url: string, payload: object) =>
  ({ method: 'POST', url: `/api/v1${url}`, as: 'viewer', payload }) as const;

describe('asking for a size', () => {
  it('hands the question on and answers in the shape of its document', async () => {
    const asked: unknown[] = [];
    const api = await openApi({
      sizing: {
        size: (request) => {
          asked.push(request);
          return { ok: true, value: sizingExamples.sizing };
        },
        runtime: (request) => {
          asked.push(request);
          return { ok: true, value: sizingExamples.runtime };
        },
      },
    });
    expect((await api.ask(ask('/sizing', sizingRequest))).json()).toEqual(sizingExamples.sizing);
    expect((await api.ask(ask('/runtime', runtimeRequest))).json()).toEqual(sizingExamples.runtime);
    expect(asked).toEqual([sizingRequest, runtimeRequest]);
  });

  it('says where a design is wrong and how to mend it', async () => {
    const detail = 'The voltage goes from 13 V to 12 V while the charge rises. It must rise.';
    const fault = { pointer: '/battery/own/voltagePoints/3', detail };
    const refuse = () => failed([fault]);
    const api = await openApi({ sizing: { size: refuse, runtime: refuse } });
    const answer = await api.ask(ask('/runtime', runtimeRequest));
    expect(answer.statusCode).toBe(422);
    expect(answer.json()).toMatchObject({ code: 'design-invalid', detail, errors: [fault] });
  });

  it('refuses a question without its shape, pointing at the part', async () => {
    const api = await openApi();
    const short = await api.ask(ask('/sizing', { ...sizingRequest, clearnessByMonth: [0.4] }));
    expect(short.statusCode).toBe(400);
    expect(short.json()).toMatchObject({ errors: [{ pointer: '/clearnessByMonth' }] });
    const wish = await api.ask(ask('/sizing', { ...sizingRequest, reliabilityRatio: 98 }));
    expect(wish.json()).toMatchObject({ errors: [{ pointer: '/reliabilityRatio' }] });
  });

  it('is not there where the server supplies no sizing', async () => {
    const without: ApiDeps = { ...(await openApi()).fleet.deps };
    delete (without as { sizing?: unknown }).sizing;
    const app = await createApi(without);
    const routes = app.printRoutes({ commonPrefix: false });
    expect(routes).not.toContain('sizing');
    expect(routes).toContain('quarantine');
  });
});
