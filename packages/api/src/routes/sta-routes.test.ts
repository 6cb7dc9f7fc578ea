import type { LightMyRequestResponse } from 'fastify';
import { beforeAll, describe, expect, it } from 'vitest';
import { NOW_MS, rushyNode, rushyView, rushySluice } from '../../testing/fake-ports.ts';
import { openApi, type OpenApi } from '../../testing/open-api.ts';

/**
 * Requests are the examples of OGC 15-078r6 (SensorThings API Part 1, §9.2–9.4; 18-088 has the same, from memory), with our
 * ids in the place of `1`. What must come back is told from the five readings written down here.
 */
const ROOT = '/api/sta/v1.1';
const STREAM = "Datastreams('rushy-sluice-1:batt_v')";
const at = (minutes: number) => NOW_MS - minutes * 60_000;
/** Oldest first: minutes ago, volts. */
const volts = [
  [50, 12.9],
  [40, 12.4],
  [30, 13.1],
  [20, 12.7],
  [10, 12.5],
] as const;

interface Entity {
  readonly [name: string]: unknown;
  readonly '@iot.id': string;
  readonly '@iot.selfLink': string;
}
interface Page {
  readonly value: readonly Entity[];
  readonly '@iot.count'?: number;
  readonly '@iot.nextLink'?: string;
}

describe('the SensorThings door', () => {
  let api: OpenApi;
  let cookie: string;
  beforeAll(async () => {
    api = await openApi({
      latest: {
        of: async () => [
          { metric: 'batt_v', observedAtMs: at(10), value: 12.5 },
          { metric: 'air_temp', observedAtMs: at(10), value: 4 },
        ],
      },
    });
    api.fleet.rawReadings.push(
      ...volts.map(([minutes, value], i) => ({
        atMs: at(minutes),
        value,
        ...(i === 2 ? { flag: 3 as const, tests: ['spike' as const] } : {}),
      })),
      // On no axis: its time cannot be trusted.
      { atMs: at(5), value: 1, timeQuality: 'unsure' as const },
    );
    cookie = `duskline=${api.fleet.openSession('viewer')}`;
  });
  const ask = (path: string): Promise<LightMyRequestResponse> =>
    api.ask({ url: `${ROOT}${path}`, headers: { cookie, host: 'example.org' } });
  const get = async <T = Page>(path: string): Promise<T> => {
    const answer = await ask(path);
    if (answer.statusCode !== 200) throw new Error(`${path}: ${answer.statusCode} ${answer.body}`);
    return answer.json<T>();
  };
  const results = async (path: string) => (await get(path)).value.map(({ result }) => result);

  it('lists its entity sets at the root (§9.2.1)', async () => {
    const { value } = await get<{ value: { name: string; url: string }[] }>('');
    expect(value.map(({ name }) => name).sort()).toEqual(
      [
        'Datastreams',
        'FeaturesOfInterest',
        'HistoricalLocations',
        'Locations',
        'ObservedProperties',
        'Observations',
        'Sensors',
        'Things',
      ].sort(),
    );
    expect(value.find(({ name }) => name === 'Things')?.url).toBe(
      `http://example.org${ROOT}/Things`,
    );
  });

  it('shows the node as a Thing, with links to what belongs to it (§9.2.2, §9.2.3)', async () => {
    const { value } = await get('/Things');
    // Tarn Gill has no node.
    expect(value.map((one) => one['@iot.id'])).toEqual(['rushy-sluice-1']);
    const thing = await get<Entity>("/Things('rushy-sluice-1')");
    expect(thing).toMatchObject({
      '@iot.selfLink': `http://example.org${ROOT}/Things('rushy-sluice-1')`,
      name: 'rushy-sluice-1',
      'Datastreams@iot.navigationLink': `http://example.org${ROOT}/Things('rushy-sluice-1')/Datastreams`,
    });
  });

  it('writes places as GeoJSON, longitude first (RFC 7946 §3.1.1)', async () => {
    const { value } = await get("/Things('rushy-sluice-1')/Locations");
    const { latitudeDeg, longitudeDeg } = rushySluice.position;
    expect(value[0]?.['location']).toEqual({
      type: 'Point',
      // A viewer is told 412 m to the nearest fifty.
      coordinates: [longitudeDeg, latitudeDeg, 400],
    });
  });

  it('has a Datastream for each metric, with its unit (§8.2.4)', async () => {
    const { value } = await get("/Things('rushy-sluice-1')/Datastreams");
    expect(value.map((one) => one['@iot.id'])).toEqual([
      'rushy-sluice-1:air_temp',
      'rushy-sluice-1:batt_v',
    ]);
    // UCUM: Cel is degree Celsius, V volt.
    expect(value.map((one) => one['unitOfMeasurement'])).toEqual([
      { name: 'degC', symbol: '°C', definition: 'ucum:Cel' },
      { name: 'V', symbol: 'V', definition: 'ucum:V' },
    ]);
  });

  it('addresses a property, and its bare value (examples 13 and 14)', async () => {
    const one = `/Observations('rushy-sluice-1:batt_v:${at(10)}')`;
    expect(await get(`${one}/resultTime`)).toEqual({ resultTime: new Date(at(10)).toISOString() });
    const bare = await api.app.inject({
      url: `${ROOT}${one}/resultTime/$value`,
      headers: { cookie },
    });
    expect([bare.body, bare.headers['content-type']]).toEqual([
      new Date(at(10)).toISOString(),
      'text/plain; charset=utf-8',
    ]);
  });

  it('goes along links (examples 15 and 17)', async () => {
    expect(await results(`/${STREAM}/Observations`)).toEqual(volts.map(([, value]) => value));
    const id = `rushy-sluice-1:batt_v:${at(40)}`;
    const one = await get<Entity>(`/${STREAM}/Observations('${id}')`);
    expect(one).toMatchObject({ '@iot.id': id, result: 12.4 });
    const feature = await get<Entity>(`/${STREAM}/Observations('${id}')/FeatureOfInterest`);
    expect(feature).toMatchObject({ '@iot.id': 'rushy-sluice', name: 'Rushy Sluice' });
  });

  it('gives the self links alone (example 16)', async () => {
    const { value } = await get(`/${STREAM}/Observations/$ref`);
    expect(value).toHaveLength(5);
    expect(Object.keys(value[0] ?? {})).toEqual(['@iot.selfLink']);
  });

  it('expands one and two levels, and with options inside (example 18)', async () => {
    const [thing] = (await get('/Things?$expand=Datastreams/ObservedProperty')).value;
    const streams = thing?.['Datastreams'] as Entity[];
    expect(streams.map((one) => (one['ObservedProperty'] as Entity)['@iot.id'])).toEqual([
      'air_temp',
      'batt_v',
    ]);
    const both = await get<Entity>(`/${STREAM}?$expand=Observations,ObservedProperty`);
    expect(both['Observations']).toHaveLength(5);
    const chosen = await get<Entity>(`/${STREAM}?$expand=Observations($filter=result eq 12.4)`);
    expect((chosen['Observations'] as Entity[]).map(({ result }) => result)).toEqual([12.4]);
  });

  it('sends only what is selected (example 19)', async () => {
    const { value } = await get(`/${STREAM}/Observations?$select=result,resultTime&$top=1`);
    expect(value).toEqual([{ result: 12.9, resultTime: new Date(at(50)).toISOString() }]);
    const inside = await get<Entity>(`/${STREAM}?$expand=Observations($select=result;$top=2)`);
    expect(inside['Observations']).toEqual([{ result: 12.9 }, { result: 12.4 }]);
    expect(inside['Observations@iot.nextLink']).toContain('$skiptoken=');
  });

  it('sorts (example 20), and by the linked Datastream', async () => {
    const sorted = [...volts.map(([, value]) => value)].sort((a, b) => a - b);
    expect(await results(`/${STREAM}/Observations?$orderby=result`)).toEqual(sorted);
    expect(await results(`/${STREAM}/Observations?$orderby=result desc`)).toEqual(sorted.reverse());
    const all = await results('/Observations?$orderby=Datastream/id desc, phenomenonTime');
    expect(all.slice(0, 5)).toEqual(volts.map(([, value]) => value));
  });

  it('takes the first and skips (examples 21 and 22)', async () => {
    const newest = `/${STREAM}/Observations?$top=2&$orderby=phenomenonTime desc`;
    expect(await results(newest)).toEqual([12.5, 12.7]);
    const third = `/${STREAM}/Observations?$skip=2&$top=2&$orderby=resultTime`;
    expect(await results(third)).toEqual([13.1, 12.7]);
    expect(await results(`/${STREAM}/Observations?$top=0`)).toEqual([]);
  });

  it.each(['', '&$orderby=phenomenonTime desc', '&$orderby=result'])(
    'is walked page by page by its next links, each observation once%s',
    async (order) => {
      const seen: unknown[] = [];
      let next: string | undefined = `${ROOT}/${STREAM}/Observations?$top=2${order}`;
      for (let pages = 0; next !== undefined && pages < 9; pages += 1) {
        const page: Page = (await api.ask({ url: next, headers: { cookie } })).json();
        seen.push(...page.value.map((one) => one['@iot.id']));
        next = page['@iot.nextLink']?.replace(/^http:\/\/[^/]+/, '');
      }
      expect(seen).toHaveLength(5);
      expect(new Set(seen).size).toBe(5);
    },
  );

  it('counts all that match, whatever the page (example 23)', async () => {
    expect((await get('/Things?$count=true'))['@iot.count']).toBe(1);
    const page = await get(`/${STREAM}/Observations?$count=true&$top=1&$filter=result lt 12.6`);
    expect([page['@iot.count'], page.value.length]).toEqual([2, 1]);
    expect((await ask('/Things?$count=yes')).statusCode).toBe(400);
  });

  it.each([
    // Table 9-1 and example 24.
    ['result lt 12.60', [12.4, 12.5]],
    ['result ge 12.9', [12.9, 13.1]],
    ['result gt 13 or result le 12.4', [12.4, 13.1]],
    ['not result lt 12.7 and result ne 13.1', [12.9, 12.7]],
    ["Datastream/id eq 'rushy-sluice-1:batt_v' and result eq 12.4", [12.4]],
    [`phenomenonTime ge ${new Date(at(20)).toISOString()}`, [12.7, 12.5]],
    [
      `phenomenonTime gt ${new Date(at(50)).toISOString()} and phenomenonTime lt ${new Date(at(30)).toISOString()}`,
      [12.4],
    ],
    ["resultQuality/flag eq 'suspect'", [13.1]],
    ["(result gt 12.4) and FeatureOfInterest/id eq 'rushy-sluice'", [12.9, 13.1, 12.7, 12.5]],
  ])('filters: %s', async (filter, expected) => {
    const path = `/${STREAM}/Observations?$filter=${encodeURIComponent(filter)}`;
    expect(await results(path)).toEqual(expected);
  });

  it('filters by text (table 9-2)', async () => {
    const ids = async (filter: string) =>
      (await get(`/Datastreams?$filter=${encodeURIComponent(filter)}`)).value.map(
        (one) => one['@iot.id'],
      );
    expect(await ids("startswith(name,'Air')")).toEqual(['rushy-sluice-1:air_temp']);
    expect(await ids("not startswith(name,'Air')")).toEqual(['rushy-sluice-1:batt_v']);
    expect(await ids("substringof('Battery',name)")).toEqual(['rushy-sluice-1:batt_v']);
    expect(await ids("unitOfMeasurement/symbol eq 'V'")).toEqual(['rushy-sluice-1:batt_v']);
    expect(await ids("Thing/name eq 'somebody''s'")).toEqual([]);
  });

  it('says the quality of each observation', async () => {
    const { value } = await get(`/${STREAM}/Observations?$filter=result eq 13.1`);
    expect(value[0]?.['resultQuality']).toEqual({
      flag: 'suspect',
      timeQuality: 'synced',
      failedTests: ['spike'],
    });
  });

  it.each([
    ["/Things('nobody')", 404],
    ['/Nothings', 404],
    ["/Things('rushy-sluice-1')/weight", 404],
    ['/Things/Datastreams', 404],
    ['/Things?$top=many', 400],
    ['/Things?$filter=name eq', 400],
    ['/Things?$filter=colour eq 1', 400],
    ['/Things?$orderby=colour', 400],
    ['/Things?$select=colour', 400],
    ['/Things?$expand=Colours', 400],
    ['/Things?$expand=Datastreams(', 400],
    // Requirement 21: an option that is not supported fails the request, with 501.
    ['/Things?$search=moor', 501],
    ['/Observations?$filter=result add 5 gt 10', 501],
    ["/Things?$filter=geo.distance(Locations/location,geography'POINT(-122 43)') gt 1", 501],
    ['/Things?$expand=Datastreams/Observations/FeatureOfInterest', 501],
  ])('refuses %s with %i', async (path, status) => {
    expect((await ask(path)).statusCode).toBe(status);
  });

  it('shows a volunteer of some sites no other', async () => {
    const shy = await openApi({
      accounts: {
        ...api.fleet.deps.accounts,
        findSession: async () => ({
          ...(await api.fleet.deps.accounts.findByEmail('volunteer@greywater.example'))!.account,
          onlySites: [],
        }),
      },
    });
    expect(rushyView.node).toBe(rushyNode);
    const seen = async (path: string) =>
      shy.ask({ url: `${ROOT}${path}`, headers: { cookie: 'duskline=some' } });
    expect((await seen('/Things')).json<Page>().value).toEqual([]);
    expect((await seen("/Things('rushy-sluice-1')")).statusCode).toBe(404);
    expect((await seen(`/${STREAM}/Observations`)).statusCode).toBe(404);
  });
});
