import type { ReadingsJson } from '@duskline/contract';
import { beforeEach, describe, expect, it } from 'vitest';
import { NOW_MS } from '../../testing/fake-ports.ts';
import { openApi, type OpenApi } from '../../testing/open-api.ts';

const MINUTE = 60_000;
const HOUR = 60 * MINUTE;
const DAY = 24 * HOUR;
const iso = (ms: number): string => new Date(ms).toISOString();

describe('readings for a chart', () => {
  let api: OpenApi;
  beforeEach(async () => {
    api = await openApi();
  });

  const ask = (query: Record<string, string>, site = 'rushy-sluice') =>
    api.ask({
      url: `/api/v1/sites/${site}/readings?${new URLSearchParams(query).toString()}`,
      as: 'viewer',
    });
  const readings = async (query: Record<string, string>): Promise<ReadingsJson> => {
    const answer = await ask(query);
    expect([answer.statusCode, answer.body.slice(0, 200)]).toEqual([200, expect.any(String)]);
    return answer.json();
  };
  const span = (fromMs: number, toMs: number) => ({
    metric: 'batt_v',
    from: iso(fromMs),
    to: iso(toMs),
  });

  const usual = (atMs: number) => ({
    flag: 'pass',
    timeQuality: 'synced',
    failedTests: [],
    receivedAt: iso(atMs + 1000),
  });

  it('are sent one by one where they are few', async () => {
    api.fleet.rawReadings.push(
      { atMs: NOW_MS - HOUR, value: 12.9 },
      { atMs: NOW_MS - 30 * MINUTE, value: 12.8 },
    );
    expect(await readings(span(NOW_MS - 2 * HOUR, NOW_MS))).toEqual({
      metric: 'batt_v',
      label: 'Battery voltage',
      unit: 'V',
      source: 'raw',
      stepS: 0,
      // Three times the usual gap of 300 s.
      gapS: 900,
      points: [
        {
          at: iso(NOW_MS - HOUR),
          mean: 12.9,
          min: 12.9,
          max: 12.9,
          count: 1,
          ...usual(NOW_MS - HOUR),
        },
        {
          at: iso(NOW_MS - 30 * MINUTE),
          mean: 12.8,
          min: 12.8,
          max: 12.8,
          count: 1,
          ...usual(NOW_MS - 30 * MINUTE),
        },
      ],
      flags: ['pass', 'not-evaluated'],
      leftOut: { pass: 0, suspect: 0, fail: 0 },
    });
  });

  it('are shown without those in doubt, which are counted, and with them when they are asked for', async () => {
    const at = (minute: number) => NOW_MS - HOUR + minute * MINUTE;
    api.fleet.rawReadings.push(
      { atMs: at(0), value: 12.9 },
      { atMs: at(10), value: 14.2, flag: 3, tests: ['spike'] },
      { atMs: at(20), value: 99, flag: 4, tests: ['gross-range'] },
      { atMs: at(30), value: 12.8, flag: 2 },
      {
        atMs: at(40),
        value: 12.7,
        flag: 3,
        tests: ['unsure-time'],
        timeQuality: 'unsure',
        saidTimeS: 5,
      },
    );
    const asked = span(NOW_MS - 2 * HOUR, NOW_MS);
    const usualView = await readings(asked);
    expect(usualView.points.map(({ mean, flag }) => [mean, flag])).toEqual([
      [12.9, 'pass'],
      [12.8, 'not-evaluated'],
    ]);
    expect(usualView.leftOut).toEqual({ pass: 0, suspect: 1, fail: 1 });
    const doubted = await readings({ ...asked, flags: 'suspect,fail' });
    expect(doubted.points.map(({ mean, failedTests }) => [mean, failedTests])).toEqual([
      [14.2, ['spike']],
      [99, ['gross-range']],
    ]);
    expect(doubted).toMatchObject({ flags: ['suspect', 'fail'], leftOut: { pass: 2 } });
    const unsure = await readings({ ...asked, times: 'unsure' });
    expect(unsure.points).toMatchObject([{ mean: 12.7, timeQuality: 'unsure', saidTimeS: 5 }]);
  });

  it('are summed up in steps where they are many, and a hole stays a hole', async () => {
    const fromMs = NOW_MS - DAY;
    for (let i = 0; i < 2880; i++)
      if (i < 1000 || i > 1500) api.fleet.rawReadings.push({ atMs: fromMs + i * 30_000, value: i });
    const answer = await readings({ ...span(fromMs, NOW_MS), points: '200' });
    expect(answer).toMatchObject({ source: 'raw', stepS: 600, gapS: 900 });
    expect(answer.points.length).toBeLessThanOrEqual(200);
    expect(answer.points.reduce((sum, { count }) => sum + count, 0)).toBe(2880 - 501);
    const gaps = answer.points
      .slice(1)
      .map(({ at }, i) => (Date.parse(at) - Date.parse(answer.points[i]?.at ?? '')) / 1000)
      .filter((gapS) => gapS > answer.gapS);
    // 501 readings of 30 s are missing: 4 h 10 min, seen in steps of ten minutes.
    expect(gaps).toHaveLength(1);
    expect(gaps[0]).toBeGreaterThanOrEqual(4 * 3600);
    expect(gaps[0]).toBeLessThanOrEqual(4 * 3600 + 1800);
  });

  it('come from the hours where even reading them all would take too long', async () => {
    const fromMs = Math.floor((NOW_MS - 90 * DAY) / HOUR) * HOUR;
    api.fleet.rollups.push({
      metric: 'batt_v',
      startMs: fromMs + 5 * HOUR,
      count: 12,
      sum: 156,
      min: 12.5,
      max: 13.4,
      last: 13,
    });
    const answer = await readings({ ...span(fromMs + HOUR, fromMs + 81 * DAY), points: '2000' });
    expect(answer).toMatchObject({ source: 'hour', stepS: 3600, gapS: 5400 });
    expect(answer.points).toEqual([
      { at: iso(fromMs + 5 * HOUR), mean: 13, min: 12.5, max: 13.4, count: 12 },
    ]);
  });

  it('come from the hours also when the node reads far oftener than it was said to', async () => {
    for (let i = 0; i < 40_000; i++)
      api.fleet.rawReadings.push({ atMs: NOW_MS - DAY + i * 2000, value: 1 });
    expect(await readings(span(NOW_MS - DAY, NOW_MS))).toMatchObject({ source: 'hour' });
  });

  it('are an empty list where there is nothing, which is an answer', async () => {
    expect((await readings(span(NOW_MS - HOUR, NOW_MS))).points).toEqual([]);
  });

  it.each([
    [{ metric: 'no_such' }, 422, 'metric-unknown'],
    [{ metric: '__proto__' }, 422, 'metric-unknown'],
    [{ metric: 'constructor' }, 422, 'metric-unknown'],
    [{ from: iso(NOW_MS), to: iso(NOW_MS) }, 422, 'range-invalid'],
    [{ from: iso(NOW_MS), to: iso(NOW_MS - HOUR) }, 422, 'range-invalid'],
    [{ from: '1990-01-01T00:00:00Z' }, 422, 'range-invalid'],
    [{ from: '2016-12-31T23:59:60Z' }, 422, 'range-invalid'],
    [{ from: 'yesterday' }, 400, 'query-invalid'],
    [{ from: '2026-11-25T06:00:00' }, 400, 'query-invalid'],
    [{ points: '1' }, 400, 'query-invalid'],
    [{ points: '2001' }, 400, 'query-invalid'],
    [{ points: '1e3' }, 400, 'query-invalid'],
    [{ points: '800; drop table sample' }, 400, 'query-invalid'],
    [{ colour: 'red' }, 400, 'query-invalid'],
    [{ flags: 'good' }, 400, 'query-invalid'],
    [{ flags: '' }, 400, 'query-invalid'],
    [{ times: 'both' }, 400, 'query-invalid'],
  ])('are refused for %j', async (wrong, status, code) => {
    const answer = await ask({ ...span(NOW_MS - HOUR, NOW_MS), ...wrong });
    expect([answer.statusCode, answer.json<{ code: string }>().code]).toEqual([status, code]);
  });

  it('are refused where there is no such site, and where it has no node', async () => {
    const query = span(NOW_MS - HOUR, NOW_MS);
    expect((await ask(query, 'nowhere')).json()).toMatchObject({ code: 'site-unknown' });
    expect((await ask(query, 'NOT%20AN%20ID')).json()).toMatchObject({ code: 'site-unknown' });
    expect((await ask(query, 'tarn-gill')).json()).toMatchObject({ code: 'site-without-node' });
  });
});
