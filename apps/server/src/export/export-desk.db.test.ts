import { openStore, type Store } from '@duskline/store';
import { createTestDatabase, waitFor, type TestDatabase } from '@duskline/test-harness';
import { createHash } from 'node:crypto';
import { mkdtempSync, readdirSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { buffer } from 'node:stream/consumers';
import { pino } from 'pino';
import postgres from 'postgres';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { ExportJson, NewExportJson } from '@duskline/contract';
import { createExportDesk, type ExportDesk } from './export-desk.ts';
import {
  analyst,
  END_MS,
  fill,
  HOSTILE_NAME,
  keeper,
  makeSite,
  START_MS,
} from './testing-fleet.ts';
import { readZip } from './testing-zip.ts';

const folder = mkdtempSync(join(tmpdir(), 'duskline-export-test-'));
const asKeeper = { account: keeper, exactPositions: true, seesAll: true };
const asAnalyst = { account: analyst, exactPositions: false, seesAll: false };
const range = { from: new Date(START_MS).toISOString(), to: new Date(END_MS).toISOString() };
let database: TestDatabase;
/** Past the store: another way to the same rows. */
let sql: postgres.Sql;
let store: Store;
let desk: ExportDesk;
let nowMs = END_MS + 86_400_000;
let readings = 0;

beforeAll(async () => {
  database = await createTestDatabase();
  store = await openStore({ url: database.url });
  sql = postgres(database.url, { max: 1, onnotice: () => undefined });
  const upper = await makeSite(store, 'upper-weir', HOSTILE_NAME);
  const moss = await makeSite(store, 'moss', '＝cmd|calc');
  readings += await fill(store, upper.node);
  readings += await fill(store, moss.node, {
    silentFrom: START_MS + 86_400_000,
    silentTo: START_MS + 2 * 86_400_000,
  });
  desk = createExportDesk({
    store,
    folder,
    holder: 'here',
    now: () => nowMs,
    log: pino({ level: 'error' }),
  });
});
afterAll(async () => {
  await desk.close();
  await store.close();
  await sql.end();
  await database.drop();
  rmSync(folder, { recursive: true, force: true });
});

async function done(query: NewExportJson, reader = asAnalyst): Promise<ExportJson> {
  const started = await desk.start(query, reader);
  if (!started.ok) throw new Error(started.fault.detail);
  return await waitFor('the export to be done', async () => {
    const found = await desk.find(started.value.id, reader);
    if (!found.ok || found.value.state === 'running') return undefined;
    if (found.value.state !== 'done') throw new Error(found.value.note ?? '');
    return found.value;
  });
}

async function bytesOf(id: number, reader = asAnalyst): Promise<Buffer> {
  const file = await desk.file(id, reader);
  if (!file.ok) throw new Error(file.fault.detail);
  return await buffer(file.value.open(0, file.value.bytes));
}

/** A server of the same database and folder whose exports wait before they read anything. */
function heldDesk(): { held: ExportDesk; reached: Promise<void>; release: () => void } {
  let release: () => void = () => undefined;
  let reach: () => void = () => undefined;
  const gate = new Promise<void>((resolve) => (release = resolve));
  const reached = new Promise<void>((resolve) => (reach = resolve));
  const held = createExportDesk({
    store: {
      ...store,
      exportReads: {
        ...store.exportReads,
        counts: async (...args) => {
          reach();
          await gate;
          return await store.exportReads.counts(...args);
        },
      },
    },
    folder,
    holder: 'here',
    now: () => nowMs,
    log: pino({ level: 'error' }),
  });
  return { held, reached, release };
}

describe('an export', () => {
  it('has every reading of the store once, and says how long and what it is', async () => {
    const job = await done({ ...range, format: 'csv' });
    const bytes = await bytesOf(job.id);
    const lines = bytes.toString('utf8').split('\r\n');
    const [row] = await sql<{ count: number }[]>`
      select sum(cardinality("values"))::int as count from sample`;
    expect(row?.count).toBe(readings);
    expect(job.rows).toBe(readings);
    expect(lines).toHaveLength(readings + 2);
    expect(lines.at(-1)).toBe('');
    // trade.md §7.3, written down by hand.
    expect(lines[0]).toBe(
      'site_id,node_id,metric,observed_at,value,unit,qc_flag,qc_tests_failed,time_quality,aggregation,interval_s,n_samples,part_id,received_at,source',
    );
    expect(lines[1]).toBe(
      'moss,moss-1,air_temp,2026-10-24T00:00:00Z,-12.3,°C,2,,synced,raw,,1,,2026-10-27T00:00:00Z,air',
    );
    expect(new Set(lines).size).toBe(lines.length);
    expect(job.bytes).toBe(bytes.length);
    expect(job.sha256).toBe(createHash('sha256').update(bytes).digest('hex'));
  });

  it('is a package of the files the analyst was promised, the same bytes each time', async () => {
    const query: NewExportJson = { ...range, wide: true, forecasts: true, localTime: true };
    const first = await done(query);
    const bytes = await bytesOf(first.id);
    expect((await bytesOf(first.id)).equals(bytes)).toBe(true);
    const files = await readZip(bytes);
    expect([...files.keys()].sort()).toEqual(
      [
        'README.txt',
        'datapackage.json',
        'events.csv',
        'forecasts.csv',
        'gaps.csv',
        'metrics.csv',
        'observations.csv',
        'observations_wide.csv',
        'parts.csv',
        'qc_rules.csv',
        'sites.csv',
        'sites.geojson',
      ].sort(),
    );
    const again = await done(query);
    // The query of somebody else's export may have been the same: one more than the first, whatever that was.
    expect(again.version).toBe(first.version + 1);
    const others = await readZip(await bytesOf(again.id));
    for (const name of files.keys())
      if (name.endsWith('.csv'))
        expect(others.get(name)?.equals(files.get(name)!), name).toBe(true);
  });

  it('says from when until when limits that a part brought hold', async () => {
    const day = (n: number): number => START_MS + n * 86_400_000;
    const site = (await store.nodes.list()).find(({ name }) => name === 'moss-1')!.siteId;
    const part = await store.parts.add({
      siteId: site,
      kind: 'sensor',
      serial: 'T-4',
      maker: 'Invented Works T2',
      fittedAtMs: day(1),
      rated: {},
      notes: '',
    });
    await store.qualityLimits.set(
      { kind: 'part', id: part.id },
      {
        limits: { metrics: { air_temp: { failSpan: [-61, 61] } } },
        setBy: 'Keeper',
        setAtMs: END_MS,
      },
    );
    await store.parts.remove(part.id, day(2));
    const files = await readZip(await bytesOf((await done({ ...range, sites: ['moss'] })).id));
    const rows = files.get('qc_rules.csv')!.toString('utf8').split('\r\n');
    const of = (start: string) =>
      rows
        .filter((row) => row.startsWith(start))
        .map((row) => [row.includes('-61 to 61 °C'), ...row.split(',').slice(-2)]);
    const dates = ['2026-10-24', '2026-10-25', '2026-10-26', '2026-10-27'];
    const [d0, d1, d2, d3] = dates.map((date) => `${date}T00:00:00Z`);
    expect(of('moss,moss-1,gross-range,air_temp,')).toEqual([
      [false, d0, d1],
      [true, d1, d2],
      [false, d2, d3],
    ]);
    expect(of('moss,moss-1,gross-range,batt_v,')).toEqual([[false, d0, d3]]);
  });

  it('guards texts against spreadsheets and leaves numbers alone', async () => {
    const job = await done(range);
    const files = await readZip(await bytesOf(job.id));
    const sites = files.get('sites.csv')!.toString('utf8');
    expect(sites).toContain(`"'=HYPERLINK(""http://x.example"",""Weir, upper"")\r\nsecond line"`);
    expect(sites).toContain(`"'＝cmd|calc"`);
    expect(sites).toContain(',-2.31,');
    expect(files.get('observations.csv')!.toString('utf8')).toContain(',-12.3,');
  });

  it('blurs positions before they are written, and gives exact ones to who may have them', async () => {
    const blurred = await readZip(await bytesOf((await done(range)).id));
    for (const content of blurred.values()) expect(content.includes('54.7123')).toBe(false);
    expect(
      JSON.parse(blurred.get('sites.geojson')!.toString()).features[0].geometry.coordinates,
    ).toEqual([-2.31, 54.71, 400]);
    const refused = await desk.start({ ...range, positions: 'exact' }, asAnalyst);
    expect(refused).toMatchObject({ ok: false, fault: { code: 'not-allowed' } });
    const exact = await done({ ...range, positions: 'exact' }, asKeeper);
    const files = await readZip(await bytesOf(exact.id, asKeeper));
    expect(files.get('sites.csv')!.toString()).toContain('54.71234');
    // What one person may have is not had by another who knows the number.
    expect(await desk.file(exact.id, asAnalyst)).toMatchObject({
      ok: false,
      fault: { code: 'export-unknown' },
    });
  });

  it('sums up: directions around north, rain added, completeness, a civil day of 25 hours', async () => {
    const job = await done({
      ...range,
      sites: ['upper-weir'],
      format: 'csv',
      aggregate: '1d',
      localTime: true,
    });
    const rows = (await bytesOf(job.id))
      .toString('utf8')
      .split('\r\n')
      .map((line) => line.split(','));
    const heading = rows[0] ?? [];
    const cell = (row: readonly string[], name: string): string => row[heading.indexOf(name)] ?? '';
    const day = rows.filter((row) => cell(row, 'observed_at') === '2026-10-24T23:00:00Z');
    expect(day.map((row) => cell(row, 'interval_s'))).toEqual(Array(5).fill('90000'));
    expect(day.map((row) => cell(row, 'n_samples'))).toEqual(Array(5).fill('300'));
    expect(day.map((row) => cell(row, 'n_expected'))).toEqual(Array(5).fill('300'));
    expect(day.map((row) => cell(row, 'observed_at_local'))).toEqual(
      Array(5).fill('2026-10-25T00:00:00+01:00'),
    );
    const of = (metric: string): string =>
      cell(day.find((row) => cell(row, 'metric') === metric) ?? [], 'value');
    // Mean of 350° and 10° is north, not south; 300 × 0.2 mm; (−12.3 + 4.1) ÷ 2.
    expect(of('wind_dir')).toBe('0');
    expect(of('rain')).toBe('60');
    expect(of('air_temp')).toBe('-4.1');
  });

  it('is stopped on request, at once, and leaves no file', async () => {
    const started = await desk.start({ ...range, format: 'ndjson' }, asAnalyst);
    if (!started.ok) throw new Error(started.fault.detail);
    expect(await desk.remove(started.value.id, asAnalyst)).toEqual({ ok: true, value: null });
    expect(await desk.find(started.value.id, asAnalyst)).toMatchObject({ ok: false });
    await waitFor('the cursor to be closed', async () => {
      const [row] = await sql<{ count: number }[]>`
        select count(*)::int as count from pg_stat_activity
        where datname = current_database() and state <> 'idle' and query ilike '%sample_note note%'
          and pid <> pg_backend_pid()`;
      return row?.count === 0 ? true : undefined;
    });
  });

  it('is refused while two are made, with a time to come again', async () => {
    // Held at their beginning: on a slow machine two small ones can be done before the third is asked for.
    const { held, release } = heldDesk();
    const both = await Promise.all([
      held.start(range, asAnalyst),
      held.start({ ...range, format: 'csv' }, asAnalyst),
    ]);
    expect(both.map(({ ok }) => ok)).toEqual([true, true]);
    expect(await held.start(range, asAnalyst)).toMatchObject({
      ok: false,
      fault: { code: 'exports-busy', retryAfterS: 30 },
    });
    release();
    for (const one of both) if (one.ok) await held.remove(one.value.id, asAnalyst);
    await held.close();
  });

  it('keeps no file of one that was removed by way of another server', async () => {
    const { held: here, reached, release } = heldDesk();
    const started = await here.start({ ...range, format: 'csv' }, asAnalyst);
    if (!started.ok) throw new Error(started.fault.detail);
    await reached;
    expect(await desk.remove(started.value.id, asAnalyst)).toMatchObject({ ok: true });
    release();
    await waitFor('the other server to be done', async () =>
      readdirSync(folder).includes(String(started.value.id)) ? undefined : true,
    );
    await here.close();
    expect(readdirSync(folder)).not.toContain(String(started.value.id));
  });

  it('is gone after its time', async () => {
    const job = await done({ ...range, format: 'csv' });
    nowMs += 15 * 86_400_000;
    expect(await desk.file(job.id, asAnalyst)).toMatchObject({
      ok: false,
      fault: { code: 'export-gone' },
    });
    expect(await desk.find(job.id, asAnalyst)).toMatchObject({
      ok: true,
      value: { state: 'expired' },
    });
    nowMs -= 15 * 86_400_000;
  });

  it('says about how large it will be, from rollups', async () => {
    for (const { id } of await store.nodes.list()) await store.rollups.refresh(id);
    const estimate = await desk.estimate({ ...range, format: 'csv' }, asAnalyst);
    // Two readings of unsure time are in no rollup: five values each.
    expect(estimate).toMatchObject({
      ok: true,
      value: { rows: readings - 10, sites: 2, fitsSpreadsheet: true },
    });
    const asked: readonly Partial<NewExportJson>[] = [
      { aggregate: '10min', extremes: true },
      { aggregate: '1h' },
      { aggregate: '6h', metrics: ['air_temp', 'rain'] },
      { aggregate: '1d' },
      { aggregate: '1d', day: 'utc', extremes: true },
    ];
    for (const one of asked) {
      const query: NewExportJson = { ...range, format: 'csv', ...one };
      const guess = await desk.estimate(query, asAnalyst);
      if (!guess.ok) throw new Error(guess.fault.detail);
      const made = (await done(query)).rows ?? 0;
      expect(made, JSON.stringify(one)).toBeGreaterThan(0);
      expect(Math.abs(guess.value.rows / made - 1), JSON.stringify(one)).toBeLessThanOrEqual(0.2);
    }
  });
});
