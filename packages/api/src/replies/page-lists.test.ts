import type { Alert } from '@duskline/domain';
import { alertId } from '@duskline/domain';
import { beforeAll, beforeEach, describe, expect, it } from 'vitest';
import { rushyAlert } from '../../testing/fake-ports.ts';
import { openApi, type OpenApi } from '../../testing/open-api.ts';

let open: Alert[] = [];
const alertOf = (n: number): Alert => ({ ...rushyAlert, id: alertId(String(n)) });

describe('lists in pages', () => {
  let api: OpenApi;
  beforeAll(async () => {
    api = await openApi({
      alerts: {
        listOpen: async () => open,
        take: async () => undefined,
        seen: async () => undefined,
      },
    });
  });
  beforeEach(() => {
    open = Array.from({ length: 25 }, (_, i) => alertOf(i + 1));
  });
  const ask = (url: string) => api.ask({ url, as: 'viewer' });
  const idsOf = (answer: Awaited<ReturnType<typeof ask>>): string[] =>
    answer.json<{ alerts: { id: string }[] }>().alerts.map(({ id }) => id);
  /** RFC 8288 §3: a target between angle brackets, then its relation. */
  const nextOf = (answer: Awaited<ReturnType<typeof ask>>): string | undefined =>
    /^<([^>]+)>; rel="next"$/.exec(String(answer.headers['link'] ?? ''))?.[1];

  it('come whole without being asked otherwise', async () => {
    const whole = await ask('/api/v1/alerts');
    expect(idsOf(whole)).toHaveLength(25);
    expect(whole.headers['link']).toBeUndefined();
  });

  it('lead from page to page, each entry once, in order, and end', async () => {
    const seen: string[] = [];
    let url: string | undefined = '/api/v1/alerts?limit=10';
    for (let pages = 0; url !== undefined && pages < 10; pages += 1) {
      const page: Awaited<ReturnType<typeof ask>> = await ask(url);
      expect(page.statusCode).toBe(200);
      seen.push(...idsOf(page));
      url = nextOf(page);
    }
    expect(url).toBeUndefined();
    expect(seen).toEqual((await ask('/api/v1/alerts').then(idsOf)).slice(0, 25));
    expect(new Set(seen).size).toBe(25);
  });

  it('go on where they were when something comes or goes before it', async () => {
    const first = await ask('/api/v1/alerts?limit=5');
    const [gone] = idsOf(first);
    open = [alertOf(99), ...open.filter(({ id }) => id !== gone)];
    const whole = await ask('/api/v1/alerts').then(idsOf);
    const last = idsOf(first).at(-1);
    const next = await ask(nextOf(first) ?? '');
    expect(idsOf(next)).toEqual(whole.slice(whole.indexOf(last ?? '') + 1).slice(0, 5));
  });

  it('say so when the entry they go on from is gone, and refuse what is no page', async () => {
    const first = await ask('/api/v1/alerts?limit=5');
    const last = idsOf(first).at(-1);
    open = open.filter(({ id }) => id !== last);
    const lost = await ask(nextOf(first) ?? '');
    expect(lost.statusCode).toBe(409);
    expect(lost.json()).toMatchObject({ code: 'cursor-gone' });
    for (const query of ['limit=0', 'limit=-1', 'limit=1001', 'limit=ten'])
      expect((await ask(`/api/v1/alerts?${query}`)).statusCode, query).toBe(400);
  });

  it('bear a tag, by which a page that has not changed is not sent again', async () => {
    const first = await ask('/api/v1/alerts?limit=5');
    const again = await api.ask({
      url: '/api/v1/alerts?limit=5',
      as: 'viewer',
      headers: { 'if-none-match': String(first.headers['etag']) },
    });
    expect(again.statusCode).toBe(304);
    open = [alertOf(99), ...open];
    open = open.map((one) => ({ ...one, priority: 'P1' }));
    const changed = await api.ask({
      url: '/api/v1/alerts?limit=5',
      as: 'viewer',
      headers: { 'if-none-match': String(first.headers['etag']) },
    });
    expect(changed.statusCode).toBe(200);
  });
});
