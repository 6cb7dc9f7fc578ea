import type { FleetJson, SiteListJson, SitePageJson } from '@duskline/contract';
import { brotliDecompressSync, gunzipSync } from 'node:zlib';
import { beforeEach, describe, expect, it } from 'vitest';
import { NOW_MS, rushyAlert, rushySluice, rushyView } from '../../testing/fake-ports.ts';
import { openApi, type OpenApi } from '../../testing/open-api.ts';

describe('the fleet', () => {
  let api: OpenApi;
  beforeEach(async () => {
    api = await openApi();
  });
  const fleet = async (): Promise<FleetJson> =>
    (await api.ask({ url: '/api/v1/fleet', as: 'viewer' })).json();

  it('is listed as issue 2 asks: state, charge, outlook and alerts of every site', async () => {
    const { sites } = (await api.ask({ url: '/api/v1/sites', as: 'viewer' })).json<SiteListJson>();
    expect(sites.map(({ id }) => id)).toEqual(['rushy-sluice', 'tarn-gill']);
    expect(sites[0]).toMatchObject({
      name: 'Rushy Sluice',
      state: 'low',
      chargeRatio: 0.3,
      chargeMethod: 'gauge',
      lastHeardAt: '2026-11-25T07:00:05.000Z',
      outlook: {
        kind: 'empties-in',
        p10Days: 1.5,
        p50Days: 2.25,
        // Beyond the horizon: not a number.
        p90Days: null,
        darkWithin7DaysProbability: 0.85,
      },
      alerts: [{ id: '41', rule: 'empties-soon', priority: 'P2', state: 'new' }],
    });
  });

  it('says of a site without a node only what is known', async () => {
    const { sites } = (await api.ask({ url: '/api/v1/sites', as: 'viewer' })).json<SiteListJson>();
    expect(sites[1]).toMatchObject({
      state: 'not-yet-proved',
      node: null,
      chargeRatio: null,
      lastHeardAt: null,
      outlook: null,
      alerts: [],
    });
  });

  it('stands on one axis: seven days back and fourteen ahead of the present hour', async () => {
    const { now, axisFrom, axisTo, rows } = await fleet();
    expect([now, axisFrom, axisTo]).toEqual([
      '2026-11-25T07:02:00.000Z',
      '2026-11-18T07:00:00.000Z',
      '2026-12-09T07:00:00.000Z',
    ]);
    for (const { week } of rows) {
      expect([week.start, week.stepS]).toEqual([axisFrom, 3600]);
      // 7 × 24 hours and the one that has begun.
      expect(week.percent).toHaveLength(169);
    }
  });

  it('shows charge in whole per cent and nothing where nothing was heard', async () => {
    const [rushy, tarn] = (await fleet()).rows;
    expect(rushy?.week.percent.slice(22, 26)).toEqual([null, null, 48, 48]);
    expect(tarn?.week.percent.every((one) => one === null)).toBe(true);
  });

  it('thins the fan to three hours and cuts it at the end of the axis', async () => {
    const [rushy, tarn] = (await fleet()).rows;
    expect(rushy?.fan).toMatchObject({ start: '2026-11-25T06:00:00.000Z', stepS: 10_800 });
    // From 06:00 on the 25th to 07:00 fourteen days later: 337 hours, of which every third is 113.
    expect(rushy?.fan?.p50).toHaveLength(113);
    // 0.3 − 12 h ÷ 400 = 0.27.
    expect(rushy?.fan?.p50[4]).toBe(27);
    expect(tarn?.fan).toBeNull();
  });

  it('shows nights cut to the axis', async () => {
    const [rushy] = (await fleet()).rows;
    // The fake's nights begin 16 h after the first whole day: 2026-11-18T16:00 to 2026-11-19T08:00.
    expect(rushy?.nights[0]).toEqual(['2026-11-18T16:00:00.000Z', '2026-11-19T08:00:00.000Z']);
  });

  it('works out the nights of a place once a day, not once a row', async () => {
    let asked = 0;
    api = await openApi({
      nightsBetween: (fromMs) => {
        asked += 1;
        return [[fromMs, fromMs + 1000]];
      },
    });
    for (let i = 0; i < 5; i++) await fleet();
    // Both sites of the fake stand at the same place.
    expect(asked).toBe(1);
    api.fleet.setNow(NOW_MS + 86_400_000);
    await fleet();
    expect(asked).toBe(2);
  });

  it('cuts off a night that the axis begins or ends in', async () => {
    api = await openApi({ nightsBetween: (fromMs, toMs) => [[fromMs, toMs]] });
    const { axisFrom, axisTo, rows } = await fleet();
    expect(rows[0]?.nights).toEqual([[axisFrom, axisTo]]);
  });

  it('is not kept by anybody, because it says what time it is', async () => {
    const answer = await api.ask({ url: '/api/v1/fleet', as: 'viewer' });
    expect(answer.headers['cache-control']).toBe('no-store');
  });

  it('is not sent again to a program that has it, until more than the time has changed', async () => {
    const first = await api.ask({ url: '/api/v1/fleet', as: 'viewer' });
    const again = () =>
      api.ask({
        url: '/api/v1/fleet',
        as: 'viewer',
        headers: { 'if-none-match': String(first.headers['etag']) },
      });
    api.fleet.setNow(NOW_MS + 1000);
    expect([(await again()).statusCode, (await again()).body]).toEqual([304, '']);
    api.fleet.views.set(rushySluice.id, { ...rushyView, version: 13 });
    expect((await again()).statusCode).toBe(200);
  });

  it('is sent compressed to whoever takes it so (RFC 9110 §8.4), and says that it depends on that', async () => {
    const ask = (encoding: string) =>
      api.app.inject({
        url: '/api/v1/fleet',
        headers: {
          cookie: `duskline=${api.fleet.openSession('viewer')}`,
          'accept-encoding': encoding,
        },
      });
    const plain = await ask('identity');
    const [zipped, brotli] = [await ask('gzip'), await ask('br')];
    expect([zipped, brotli].map((one) => one.headers['content-encoding'])).toEqual(['gzip', 'br']);
    expect(zipped.headers['vary']).toMatch(/accept-encoding/i);
    expect(gunzipSync(zipped.rawPayload).toString()).toBe(plain.body);
    expect(brotliDecompressSync(brotli.rawPayload).toString()).toBe(plain.body);
    expect(plain.headers['content-encoding']).toBeUndefined();
  });

  it('fails rather than sends a number that JSON has no word for', async () => {
    api.fleet.views.set(rushySluice.id, {
      ...rushyView,
      charge: { ...rushyView.charge!, ratio: NaN },
    });
    expect((await api.ask({ url: '/api/v1/fleet', as: 'viewer' })).statusCode).toBe(500);
  });
});

describe('a site page', () => {
  let api: OpenApi;
  beforeEach(async () => {
    api = await openApi();
  });
  const page = async (id: string): Promise<SitePageJson> =>
    (await api.ask({ url: `/api/v1/sites/${id}`, as: 'viewer' })).json();

  it('has the power system, the days, what was read last, and the newest interval first', async () => {
    const rushy = await page('rushy-sluice');
    expect(rushy.power).toMatchObject({ panelW: 20, batteryWh: 154, shutDownRatio: 0.1 });
    expect(rushy.days).toEqual([
      { dayStart: '2026-11-24T00:09:00.000Z', harvestWh: 8.5, loadWh: 21.25, hoursHeard: 24 },
      { dayStart: '2026-11-25T00:09:00.000Z', harvestWh: null, loadWh: 6.5, hoursHeard: 7 },
    ]);
    expect(rushy.intervals.map(({ state, to }) => [state, to])).toEqual([
      ['low', null],
      ['up', '2026-11-25T03:00:00.000Z'],
    ]);
    expect(rushy.latest).toEqual([
      {
        metric: 'batt_v',
        label: 'Battery voltage',
        unit: 'V',
        value: 12.9,
        observedAt: '2026-11-25T07:01:00.000Z',
      },
    ]);
    expect(rushy.metrics).toEqual(['batt_v']);
  });

  it('has the whole fan, hour by hour to the horizon', async () => {
    const { row } = await page('rushy-sluice');
    expect(row.fan?.stepS).toBe(3600);
    expect(row.fan?.p10).toHaveLength(720);
  });

  it('is there for a site that has no node yet', async () => {
    expect(await page('tarn-gill')).toMatchObject({ power: null, intervals: [], latest: [] });
  });

  it('is not sent again while it has not changed', async () => {
    const first = await api.ask({ url: '/api/v1/sites/rushy-sluice', as: 'viewer' });
    expect(first.headers['cache-control']).toBe('private, no-cache');
    const tag = String(first.headers['etag']);
    const again = await api.ask({
      url: '/api/v1/sites/rushy-sluice',
      as: 'viewer',
      headers: { 'if-none-match': tag },
    });
    expect([again.statusCode, again.body, again.headers['etag']]).toEqual([304, '', tag]);
    api.fleet.views.set(rushySluice.id, { ...rushyView, version: 13 });
    const changed = await api.ask({
      url: '/api/v1/sites/rushy-sluice',
      as: 'viewer',
      headers: { 'if-none-match': tag },
    });
    expect(changed.statusCode).toBe(200);
  });
});

describe('alerts', () => {
  let api: OpenApi;
  beforeEach(async () => {
    api = await openApi();
  });
  const act = (id: string, what: string) =>
    api.ask({ method: 'POST', url: `/api/v1/alerts/${id}/${what}`, as: 'volunteer' });

  it('are listed with the name of their site and all that one needs to act', async () => {
    const { alerts } = (await api.ask({ url: '/api/v1/alerts', as: 'viewer' })).json<{
      alerts: object[];
    }>();
    expect(alerts).toEqual([
      expect.objectContaining({
        id: '41',
        siteId: 'rushy-sluice',
        siteName: 'Rushy Sluice',
        takenBy: null,
        ...rushyAlert.text,
      }),
    ]);
  });

  it('are taken by whoever asks, with name and time, and others are told', async () => {
    expect((await act('41', 'take')).json()).toMatchObject({
      state: 'taken',
      takenBy: 'volunteer',
      takenAt: '2026-11-25T07:02:00.000Z',
    });
    expect(api.fleet.told).toEqual(['alert 41: taken']);
  });

  it('can be said to be seen, and are unknown when there are none of that id', async () => {
    expect((await act('41', 'seen')).statusCode).toBe(200);
    expect((await act('4711', 'take')).json()).toMatchObject({ code: 'alert-unknown' });
    expect((await act("4'; --", 'take')).json()).toMatchObject({ code: 'alert-unknown' });
  });
});
