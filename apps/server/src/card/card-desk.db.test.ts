import type { CardImportJson, CardSettingsJson } from '@duskline/contract';
import { createTestDatabase, waitFor, type TestDatabase } from '@duskline/test-harness';
import { openStore, type Store } from '@duskline/store';
import type { FieldNode, NodeName, SiteId } from '@duskline/domain';
import { mkdtempSync, readdirSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { gzipSync } from 'node:zlib';
import { pino } from 'pino';
import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest';
import { createCardDesk, type CardDesk } from './card-desk.ts';

const NOW_MS = Date.UTC(2026, 10, 26, 12);
let database: TestDatabase;
let store: Store;
let folder: string;
let desk: CardDesk;
let node: FieldNode;
const news: number[] = [];

beforeAll(async () => {
  database = await createTestDatabase();
  store = await openStore({ url: database.url });
  folder = mkdtempSync(join(tmpdir(), 'duskline-desk-'));
  desk = createCardDesk({
    store,
    folder,
    now: () => NOW_MS,
    log: pino({ level: 'silent' }),
    onNews: (id) => news.push(id),
  });
  const site = await store.sites.create({
    id: 'tarn-gill' as SiteId,
    name: 'Tarn Gill',
    position: { latitudeDeg: 54.7, longitudeDeg: -2.3, elevationM: 412 },
    timeZone: 'Europe/London',
    access: '',
    hazards: '',
  });
  node = await store.nodes.create(
    {
      name: 'tarn-gill-1' as NodeName,
      siteId: site.id,
      commissionedAtMs: NOW_MS,
      power: {
        panel: { ratedW: 20, tiltDeg: 60, azimuthDeg: 180 },
        battery: { chemistry: 'lifepo4', ratedWh: 150, seriesCells: 4 },
        charger: 'mppt',
        shutDownRatio: 0.15,
        restartRatio: 0.5,
        offStateDrawW: 0.05,
        usualGapS: 300,
      },
    },
    new Uint8Array([1]),
  );
});
afterAll(async () => {
  await desk?.close();
  await store?.close();
  await database?.drop();
  rmSync(folder, { recursive: true, force: true });
});

/** Five minutes apart, in UTC; `hours` later on the clock that writes the log. */
const log = (samples: number, hours = 0): string =>
  [
    'time;U bat [mV]',
    ...Array.from({ length: samples }, (_none, index) => {
      const at = new Date(Date.UTC(2026, 6, 1, 6) + index * 300_000 + hours * 3_600_000);
      return `${at.toISOString().slice(0, 19).replace('T', ' ')};${12_000 + index}`;
    }),
    '',
  ].join('\r\n');

async function settled(id: number): Promise<CardImportJson> {
  return await waitFor(
    'the desk to be through',
    async () => {
      const now = await desk.find(id);
      return now?.stage === 'reading' || now?.stage === 'storing' ? undefined : now;
    },
    { withinMs: 30_000 },
  );
}
async function brought(files: Readonly<Record<string, Uint8Array>>): Promise<number> {
  const { id } = await desk.open({
    node,
    by: 'Ida',
    files: Object.entries(files).map(([name, { length }]) => ({ name, bytes: length })),
  });
  for (const [place, bytes] of Object.values(files).entries())
    for (let offset = 0; offset < bytes.length; offset += 700)
      expect(
        await desk.bring(id, { place, offset, bytes: bytes.subarray(offset, offset + 700) }),
      ).toMatchObject({ ok: true });
  return id;
}
async function read(id: number, settings: CardSettingsJson = {}): Promise<CardImportJson> {
  expect(await desk.read(id, settings)).toMatchObject({ ok: true });
  return settled(id);
}

describe('the desk for cards', () => {
  it('stores nothing before it is told to, fills the gaps, and finds nothing new the second time', async () => {
    const files = { 'a.csv': Buffer.from(log(60)), 'b.csv.gz': gzipSync(log(100)) };
    const id = await brought(files);
    const ready = await read(id, { zone: 'UTC' });
    expect(ready).toMatchObject({
      stage: 'ready',
      preview: { samples: 160, usualStepS: 300, fromAt: '2026-07-01T06:00:00.000Z' },
    });
    const range = { fromMs: Date.UTC(2026, 6, 1), toMs: Date.UTC(2026, 6, 2), limit: 500 };
    expect(await store.samples.raw(node.id, 'batt_v', range)).toEqual([]);
    expect(await desk.store(id)).toMatchObject({ ok: true });
    expect(await settled(id)).toMatchObject({
      stage: 'done',
      counts: { filled: 100, here: 60, conflicts: 0 },
    });
    const kept = await store.samples.raw(node.id, 'batt_v', range);
    expect([kept.length, kept[0]?.value, kept[99]?.value]).toEqual([100, 12, 12.099]);
    // The word and the clearing away come right after the state that was waited for.
    await vi.waitFor(() => {
      expect(news).toEqual([node.id]);
      expect(readdirSync(folder)).toEqual([]);
    });

    const again = await brought(files);
    await read(again, { zone: 'UTC' });
    await desk.store(again);
    expect((await settled(again)).counts).toEqual({
      filled: 0,
      here: 160,
      conflicts: 0,
      repeated: 0,
    });
  });

  it('sees from what is stored that the clock keeps another zone than was thought', async () => {
    const id = await brought({ 'a.csv': Buffer.from(log(100)) });
    // Read as British Summer Time, everything is an hour early.
    const { preview } = await read(id);
    const fits = preview?.doubts.find(({ code }) => code === 'zone-fits-better');
    expect(fits?.settle).toMatchObject({ setting: 'zone', chosen: 'Europe/London' });
    expect(fits?.settle?.choices.map(({ value }) => value)).toContain('UTC');
    expect((await read(id, { zone: 'UTC' })).preview?.expected).toMatchObject({
      filled: 0,
      conflicts: 0,
    });
    expect(await desk.discard(id)).toMatchObject({ ok: true });
    expect(await desk.find(id)).toBeUndefined();
  });

  it('refuses pieces that do not follow, files that are not here, and what blocks', async () => {
    const bytes = Buffer.from('1764054000 12.8\n1764054300 12.9\n');
    const { id } = await desk.open({
      node,
      by: 'Ida',
      files: [{ name: 'x', bytes: bytes.length }],
    });
    const bring = (offset: number, piece: Uint8Array) =>
      desk.bring(id, { place: 0, offset, bytes: piece });
    const codeOf = (result: unknown) => (result as { fault?: { code: string } }).fault?.code;
    expect(codeOf(await bring(5, bytes.subarray(5, 9)))).toBe('card-piece-misplaced');
    expect(codeOf(await desk.read(id, {}))).toBe('card-not-ready');
    expect(codeOf(await bring(0, Buffer.alloc(bytes.length + 1)))).toBe('card-too-large');
    await bring(0, bytes.subarray(0, 9));
    // Sent again because its answer was lost.
    expect(await bring(0, bytes.subarray(0, 9))).toMatchObject({
      ok: true,
      value: { received: 9 },
    });
    await bring(9, bytes.subarray(9));
    expect(codeOf(await desk.read(id, { zone: 'Moor/Nowhere' }))).toBe('time-zone-unknown');
    expect(codeOf(await desk.store(id))).toBe('card-not-ready');
    expect((await read(id)).preview?.doubts[0]).toMatchObject({
      code: 'no-metric',
      blocking: true,
    });
    expect(codeOf(await desk.store(id))).toBe('card-not-ready');
    expect(codeOf((await desk.find(999_999)) ?? (await desk.stop(999_999)))).toBe(
      'card-import-unknown',
    );
  });

  it('says why a file cannot be used', async () => {
    const id = await brought({ 'bomb.gz': gzipSync(Buffer.alloc(3_000_000, 0x20)) });
    expect(await read(id)).toMatchObject({
      stage: 'refused',
      note: expect.stringContaining('100 times') as string,
    });
  });
});
