import { describe, expect, it } from 'vitest';
import { openApi } from '../../testing/open-api.ts';

describe('health', () => {
  it('is answered by the process alone', async () => {
    const api = await openApi();
    api.fleet.failStore(new Error('away'));
    expect((await api.ask({ url: '/healthz' })).json()).toEqual({ status: 'ok' });
  });

  it('is readiness when the store and every check are in order', async () => {
    const api = await openApi({ readiness: [{ name: 'broker', fault: async () => undefined }] });
    const answer = await api.ask({ url: '/readyz' });
    expect(answer.json()).toEqual({ status: 'ready', checks: ['store', 'broker'] });
    expect(answer.headers['cache-control']).toBe('no-store');
  });

  it('is ready, and says what is to be put right all the same', async () => {
    const words = 'The database runs with fsync off.';
    const api = await openApi({ readiness: [], warnings: () => [words] });
    const answer = await api.ask({ url: '/readyz' });
    expect(answer.json()).toEqual({ status: 'ready', checks: ['store'], warnings: [words] });
  });

  it('says what is out of order, each thing by its name, and nothing of why it threw', async () => {
    const api = await openApi({
      readiness: [
        { name: 'broker', fault: async () => 'The broker has not been reached for 40 s.' },
        { name: 'migrations', fault: () => Promise.reject(new Error('password=canary')) },
        { name: 'sweep', fault: async () => undefined },
      ],
    });
    api.fleet.failStore(new Error('connect to 10.0.0.3 refused'));
    const answer = await api.ask({ url: '/readyz' });
    expect(answer.statusCode).toBe(503);
    expect(answer.json()).toMatchObject({
      code: 'not-ready',
      errors: [
        { pointer: '/store', detail: 'The check of the store failed; the log says why.' },
        { pointer: '/broker', detail: 'The broker has not been reached for 40 s.' },
        { pointer: '/migrations', detail: 'The check of the migrations failed; the log says why.' },
      ],
    });
    expect(answer.body).not.toContain('canary');
    expect(answer.body).not.toContain('10.0.0.3');
  });

  it('does not wait for a check that hangs', async () => {
    const api = await openApi({
      readiness: [{ name: 'broker', fault: () => new Promise(() => undefined) }],
    });
    const answer = await api.ask({ url: '/readyz' });
    expect(answer.json()).toMatchObject({
      errors: [{ pointer: '/broker', detail: 'The broker did not answer within 2 s.' }],
    });
  });
});
