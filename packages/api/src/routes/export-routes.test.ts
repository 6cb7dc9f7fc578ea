import type { AvailabilityJson, ExportJson, NewExportJson } from '@duskline/contract';
import { failed, ok } from '@duskline/domain';
import { createHash } from 'node:crypto';
import { Readable } from 'node:stream';
import { beforeAll, beforeEach, describe, expect, it } from 'vitest';
import { openApi, type OpenApi } from '../../testing/open-api.ts';
import type { ExportPort, ExportReader, ExportRefusal } from '../export-port.ts';

const content = Buffer.from('site_id,value\r\nrushy-sluice,12.81\r\n');
const sha256 = createHash('sha256').update(content).digest('hex');
const query: NewExportJson = { from: '2026-11-01T00:00:00Z', to: '2026-11-08T00:00:00Z' };
const job: ExportJson = {
  id: 7,
  state: 'done',
  by: 'analyst',
  query,
  version: 1,
  madeAt: '2026-11-25T07:00:00Z',
  finishedAt: '2026-11-25T07:00:02Z',
  expiresAt: '2026-12-09T07:00:00Z',
  fileName: 'duskline_fleet_2026-11-01_2026-11-08_v1.csv',
  citation: 'Duskline fleet, export 7.',
  progress: null,
  rows: 1,
  bytes: content.length,
  sha256,
  note: null,
};
const hours = (n: number) => ({ hours: n, ratio: n / 168 });
const report: AvailabilityJson = {
  from: query.from,
  to: query.to,
  warning: 'Gaps are not random.',
  fleet: { up: hours(120), sites: 1, neverHeard: 0 },
  sites: [
    {
      id: 'rushy-sluice',
      name: 'Rushy Sluice',
      node: 'rushy-sluice-1',
      timeZone: 'Europe/London',
      since: query.from,
      up: hours(120),
      darkAsDesigned: hours(48),
      fault: hours(0),
      link: hours(0),
      clock: hours(0),
      work: hours(0),
      unknown: hours(0),
      accepted: [],
    },
  ],
};

let readers: ExportReader[] = [];
let refusal: ExportRefusal | undefined;
/** Says who asked; refuses with `refusal` while there is one. */
const answer = <T>(value: T, reader: ExportReader) => {
  readers.push(reader);
  return refusal === undefined ? ok(value) : failed(refusal);
};
const exports: ExportPort = {
  estimate: async (_query, reader) =>
    answer({ rows: 10, bytes: 1350, sites: 1, fitsSpreadsheet: true }, reader),
  start: async (asked, reader) =>
    answer({ ...job, query: asked, state: 'running' as const }, reader),
  list: async (reader) => {
    readers.push(reader);
    return [job];
  },
  find: async (_id, reader) => answer(job, reader),
  file: async (_id, reader) =>
    answer(
      {
        fileName: job.fileName,
        mediaType: 'text/csv; charset=utf-8; header=present',
        bytes: content.length,
        sha256,
        open: (from: number, to: number) => Readable.from([content.subarray(from, to)]),
      },
      reader,
    ),
  remove: async (_id, reader) => answer(null, reader),
  availability: async (_range, reader) => answer(report, reader),
  availabilityCsv: () => 'site_id,up_h\r\nrushy-sluice,120\r\n',
};

describe('the routes of exports', () => {
  let api: OpenApi;
  const path = '/api/v1/exports';
  beforeAll(async () => {
    api = await openApi({ exports });
  });
  beforeEach(() => {
    readers = [];
    refusal = undefined;
  });
  const fetchFile = (headers: Record<string, string> = {}) =>
    api.ask({ url: `${path}/7/file`, as: 'analyst', headers });

  it('have an export made, say where it is, and list it', async () => {
    const started = await api.ask({ method: 'POST', url: path, as: 'analyst', payload: query });
    expect(started.statusCode).toBe(202);
    expect(started.headers.location).toBe(`${path}/7`);
    expect(started.json()).toMatchObject({ state: 'running', query });
    const estimate = await api.ask({
      method: 'POST',
      url: `${path}/estimate`,
      as: 'analyst',
      payload: query,
    });
    expect(estimate.json()).toEqual({ rows: 10, bytes: 1350, sites: 1, fitsSpreadsheet: true });
    expect((await api.ask({ url: path, as: 'analyst' })).json()).toMatchObject({
      exports: [{ id: 7 }],
    });
    expect((await api.ask({ url: `${path}/7`, as: 'analyst' })).json()).toMatchObject({ sha256 });
    expect((await api.ask({ method: 'DELETE', url: `${path}/7`, as: 'analyst' })).statusCode).toBe(
      204,
    );
  });

  it('are for those who may export, and tell the desk what each may have', async () => {
    expect((await api.ask({ url: path })).statusCode).toBe(401);
    expect((await api.ask({ url: path, as: 'viewer' })).statusCode).toBe(403);
    for (const as of ['analyst', 'coordinator', 'keeper'] as const)
      await api.ask({ url: path, as });
    expect(
      readers.map(({ account, exactPositions, seesAll }) => [
        account.role,
        exactPositions,
        seesAll,
      ]),
    ).toEqual([
      ['analyst', false, false],
      ['coordinator', true, false],
      ['keeper', true, true],
    ]);
  });

  it('name the metric that there is not, and say where it stands', async () => {
    const refused = await api.ask({
      method: 'POST',
      url: path,
      as: 'analyst',
      payload: { ...query, metrics: ['rain', 'rainfall'] },
    });
    expect(refused.statusCode).toBe(400);
    expect(refused.json()).toMatchObject({
      detail: expect.stringMatching(/^In the body, \/metrics\/1 must be one of batt_v, .*rain, /),
    });
  });

  it('refuse what cannot be asked for', async () => {
    const ask = async (payload: object) =>
      (await api.ask({ method: 'POST', url: path, as: 'analyst', payload })).statusCode;
    expect(await ask({ ...query, from: 'yesterday' })).toBe(400);
    expect(await ask({ ...query, metrics: ['__proto__'] })).toBe(400);
    expect(await ask({ ...query, flags: [9] })).toBe(400);
    expect(await ask({ ...query, sites: [] })).toBe(400);
    expect(await ask({ ...query, more: true })).toBe(400);
    expect((await api.ask({ url: `${path}/seven`, as: 'analyst' })).statusCode).toBe(400);
    expect(readers).toEqual([]);
  });

  it('say as a problem why not, and when to come again', async () => {
    refusal = { code: 'exports-busy', detail: 'Two are being made.', retryAfterS: 30 };
    const busy = await api.ask({ method: 'POST', url: path, as: 'analyst', payload: query });
    expect(busy.statusCode).toBe(429);
    expect(busy.headers['retry-after']).toBe('30');
    expect(busy.headers['content-type']).toContain('application/problem+json');
    for (const [code, status] of [
      ['export-unknown', 404],
      ['export-not-done', 409],
      ['export-gone', 410],
    ] as const) {
      refusal = { code, detail: 'Why.' };
      const answered = await fetchFile();
      expect([answered.statusCode, answered.json<{ code: string }>().code]).toEqual([status, code]);
      // A problem is not to be taken for a piece of the file.
      expect(answered.headers['etag']).toBeUndefined();
      expect(answered.headers['accept-ranges']).toBeUndefined();
    }
  });

  it('give the file whole, with its length, its tag and its digest', async () => {
    const whole = await fetchFile();
    expect(whole.statusCode).toBe(200);
    expect(whole.rawPayload.equals(content)).toBe(true);
    expect(whole.headers).toMatchObject({
      'content-length': String(content.length),
      etag: `"${sha256}"`,
      'accept-ranges': 'bytes',
      'content-type': 'text/csv; charset=utf-8; header=present',
      'content-disposition': `attachment; filename="${job.fileName}"`,
      // RFC 9530 §3: a byte sequence of RFC 8941, base64 between colons.
      'repr-digest': `sha-256=:${createHash('sha256').update(content).digest('base64')}:`,
    });
    // A piece compressed on the way would not fit the pieces before it.
    const packed = await fetchFile({ 'accept-encoding': 'br, gzip' });
    expect(packed.headers['content-encoding']).toBeUndefined();
    expect(packed.headers['content-length']).toBe(String(content.length));
  });

  it('go on where a download broke, and only with the same file', async () => {
    const first = await fetchFile({ range: 'bytes=0-9' });
    expect(first.statusCode).toBe(206);
    expect(first.headers['content-range']).toBe(`bytes 0-9/${content.length}`);
    expect(first.headers['content-length']).toBe('10');
    const rest = await fetchFile({ range: 'bytes=10-', 'if-range': `"${sha256}"` });
    expect(rest.statusCode).toBe(206);
    expect(Buffer.concat([first.rawPayload, rest.rawPayload]).equals(content)).toBe(true);

    const other = await fetchFile({ range: 'bytes=10-', 'if-range': '"another"' });
    expect(other.statusCode).toBe(200);
    expect(other.rawPayload.equals(content)).toBe(true);

    const outside = await fetchFile({ range: `bytes=${content.length}-` });
    expect(outside.statusCode).toBe(416);
    expect(outside.headers['content-range']).toBe(`bytes */${content.length}`);
    expect((await fetchFile({ 'if-none-match': `"${sha256}"` })).statusCode).toBe(304);
  });

  it('say where the time of the sites went, to everybody who may read, also as CSV', async () => {
    const range = `from=${query.from}&to=${query.to}`;
    expect((await api.ask({ url: `/api/v1/availability?${range}`, as: 'viewer' })).json()).toEqual(
      report,
    );
    const csv = await api.ask({ url: `/api/v1/availability.csv?${range}`, as: 'viewer' });
    expect(csv.body).toBe('site_id,up_h\r\nrushy-sluice,120\r\n');
    expect(csv.headers['content-disposition']).toBe(
      'attachment; filename="availability_2026-11-01_2026-11-08.csv"',
    );
    expect((await api.ask({ url: '/api/v1/availability', as: 'viewer' })).statusCode).toBe(400);
    expect((await api.ask({ url: `/api/v1/availability?${range}` })).statusCode).toBe(401);
  });
});
