import type { QualityRulesJson, SetQualityLimitsJson } from '@duskline/contract';
import { beforeEach, describe, expect, it } from 'vitest';
import { NOW_MS } from '../../testing/example-fleet.ts';
import { openApi, type OpenApi } from '../../testing/open-api.ts';
import { rememberParts } from '../../testing/remember-parts.ts';

describe('the tests of readings', () => {
  let api: OpenApi;
  beforeEach(async () => {
    api = await openApi();
  });
  const put = (url: string, payload: object, as: 'builder' | 'viewer' = 'builder') =>
    api.ask({ method: 'PUT', url: `/api/v1/${url}/quality-limits`, payload, as });

  it('are listed with their limits, and the words of the flags', async () => {
    const answer = (
      await api.ask({ url: '/api/v1/quality-rules', as: 'viewer' })
    ).json<QualityRulesJson>();
    expect(answer.rules[0]).toMatchObject({
      test: 'spike',
      limits: [{ metric: 'batt_v', label: 'Battery voltage', limit: 'suspect above 0.5 V' }],
    });
    expect(answer.flags).toContainEqual({ flag: 3, word: 'suspect' });
  });

  it.each(['sites/rushy-sluice', 'nodes/rushy-sluice-1'])(
    'take limits of %s, say who set them, and show them in force',
    async (where) => {
      const limits = { metrics: { batt_v: { spike: { suspect: 0.9 }, flatLine: null } } };
      const empty = await api.ask({ url: `/api/v1/${where}/quality-limits`, as: 'viewer' });
      expect(empty.json()).toMatchObject({ limits: {}, setBy: null, setAt: null });
      const set = (await put(where, limits)).json<SetQualityLimitsJson>();
      expect(set).toMatchObject({ limits, setBy: expect.any(String), setAt: expect.any(String) });
      const rules = await api.ask({ url: '/api/v1/quality-rules?site=rushy-sluice', as: 'viewer' });
      expect(rules.json<QualityRulesJson>().rules[0]?.limits[0]?.limit).toBe('suspect above 0.9 V');
    },
  );

  it.each([
    [{ metrics: { no_such: {} } }, 422, 'metric-unknown'],
    [{ metrics: { batt_v: { spike: { suspect: 13 } } } }, 422, 'limits-invalid'],
    [{ metrics: { batt_v: { spike: { suspect: -1 } } } }, 400, 'body-invalid'],
    [{ metrics: { batt_v: { failSpan: [1] } } }, 400, 'body-invalid'],
    [{ metrics: { batt_v: { colour: 1 } } }, 400, 'body-invalid'],
    [{ cross: { chargeJumpPct: 'ten' } }, 400, 'body-invalid'],
    [{ anything: 1 }, 400, 'body-invalid'],
  ])('refuse %j', async (payload, status, code) => {
    const answer = await put('sites/rushy-sluice', payload);
    expect([answer.statusCode, answer.json<{ code: string }>().code]).toEqual([status, code]);
  });

  it('are changed by whoever may change nodes, where there is something to change', async () => {
    expect((await put('sites/rushy-sluice', {}, 'viewer')).statusCode).toBe(403);
    expect((await put('sites/nowhere', {})).json()).toMatchObject({ code: 'site-unknown' });
    expect((await put('nodes/nobody-here', {})).json()).toMatchObject({ code: 'node-unknown' });
  });
});

describe('limits of a part', () => {
  const limits = { metrics: { air_temp: { failSpan: [-20, 50], spike: { suspect: 1.5 } } } };
  const open = () => openApi({ parts: rememberParts() });
  const addSensor = async (api: OpenApi): Promise<string> => {
    const answer = await api.ask({
      method: 'POST',
      url: '/api/v1/sites/rushy-sluice/parts',
      payload: {
        kind: 'sensor',
        serial: 'T-9',
        maker: 'Invented Works T2',
        fittedAt: new Date(NOW_MS - 86_400_000).toISOString(),
      },
      as: 'builder',
    });
    return answer.json<{ id: string }>().id;
  };

  it('are kept beside it, with who set them, and stay when it is taken out', async () => {
    const api = await open();
    const id = await addSensor(api);
    const url = `/api/v1/parts/${id}/quality-limits`;
    const empty = await api.ask({ url, as: 'viewer' });
    expect(empty.json()).toMatchObject({ limits: {}, setBy: null, setAt: null });
    const set = await api.ask({ method: 'PUT', url, payload: limits, as: 'builder' });
    expect(set.json()).toMatchObject({ limits, setBy: expect.any(String) });
    const removal = {
      method: 'POST' as const,
      url: `/api/v1/sites/rushy-sluice/parts/${id}/remove`,
      payload: { removedAt: new Date(NOW_MS).toISOString() },
      as: 'builder' as const,
    };
    expect((await api.ask(removal)).statusCode).toBe(200);
    expect((await api.ask({ url, as: 'viewer' })).json()).toEqual(set.json());
  });

  it('stand over those of its site and node, which are told with where they come from', async () => {
    const api = await open();
    const part = `parts/${await addSensor(api)}`;
    const beneath = async (of: string) => {
      const answer = await api.ask({ url: `/api/v1/${of}/quality-limits`, as: 'viewer' });
      return answer.json<SetQualityLimitsJson>().beneath.metrics['batt_v']?.spike;
    };
    const put = (of: string, suspect: number | null) =>
      api.ask({
        method: 'PUT',
        url: `/api/v1/${of}/quality-limits`,
        payload: { metrics: { batt_v: { spike: suspect === null ? null : { suspect } } } },
        as: 'builder',
      });
    const byDefault = { limit: { suspect: 0.5 }, from: 'default', source: 'the test' };
    const bySite = { limit: { suspect: 0.7 }, from: 'site', source: null };
    expect(await beneath(part)).toEqual(byDefault);
    await put('sites/rushy-sluice', 0.7);
    expect(await beneath(part)).toEqual(bySite);
    await put('nodes/rushy-sluice-1', null);
    await put(part, 0.9);
    expect(await beneath(part)).toEqual({ limit: null, from: 'node', source: null });
    expect(await beneath('nodes/rushy-sluice-1')).toEqual(bySite);
    expect(await beneath('sites/rushy-sluice')).toEqual(byDefault);
  });

  it('are set by whoever may change nodes, of a part that is known, within reason', async () => {
    const api = await open();
    const url = `/api/v1/parts/${await addSensor(api)}/quality-limits`;
    const put = (payload: object, at = url, as: 'builder' | 'viewer' = 'builder') =>
      api.ask({ method: 'PUT', url: at, payload, as });
    expect((await put(limits, url, 'viewer')).statusCode).toBe(403);
    const nowhere = await put(limits, '/api/v1/parts/999/quality-limits');
    expect([nowhere.statusCode, nowhere.json<{ code: string }>().code]).toEqual([
      404,
      'part-unknown',
    ]);
    expect((await put({ metrics: { no_such: {} } })).json()).toMatchObject({
      code: 'metric-unknown',
    });
  });

  it('are in the rules as they hold now', async () => {
    const asked: number[] = [];
    const api = await openApi({
      qualityRules: (_overrides, atMs) => {
        asked.push(atMs);
        return [];
      },
    });
    await api.ask({ url: '/api/v1/quality-rules?site=rushy-sluice', as: 'viewer' });
    expect(asked).toEqual([NOW_MS]);
  });
});
