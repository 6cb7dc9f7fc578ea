import { DuckDBInstance } from '@duckdb/node-api';
import { parquetMetadata, parquetReadObjects } from 'hyparquet';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { readZip } from '../../../apps/server/src/export/testing-zip.ts';
import { exported, made, READINGS } from './made-up-source.ts';

const NAME = 'observations/upper-weir_2026-10.parquet';
const file = async (): Promise<Buffer> =>
  (await readZip(await exported({ format: 'parquet' }))).get(NAME)!;
const asArrayBuffer = (bytes: Buffer): ArrayBuffer =>
  bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.length) as ArrayBuffer;

describe('Parquet', () => {
  it('is read by hyparquet: UTC microseconds, units in the metadata, sorted by metric and time', async () => {
    const bytes = asArrayBuffer(await file());
    const metadata = parquetMetadata(bytes);
    expect(Number(metadata.num_rows)).toBe(READINGS);
    expect(metadata.schema.find(({ name }) => name === 'observed_at')?.logical_type).toEqual({
      type: 'TIMESTAMP',
      isAdjustedToUTC: true,
      unit: 'MICROS',
    });
    const units = metadata.key_value_metadata?.find(({ key }) => key === 'units')?.value ?? '';
    expect(JSON.parse(units)).toEqual({ air_temp: '°C', batt_v: 'V', rain: 'mm' });
    const rows = await parquetReadObjects({ file: bytes });
    expect(rows).toHaveLength(READINGS);
    const keys = rows.map(
      (row) => `${row['metric'] as string} ${(row['observed_at'] as Date).toISOString()}`,
    );
    expect(keys).toEqual([...keys].sort());
    expect(rows[0]).toMatchObject({
      site_id: 'upper-weir',
      metric: 'air_temp',
      observed_at: new Date('2026-10-24T00:00:00Z'),
      value: -12.3,
      interval_s: null,
      qc_flag: 1,
    });
    expect(rows.filter((row) => row['qc_flag'] === 3).map((row) => row['qc_tests_failed'])).toEqual(
      ['spike'],
    );
  });

  it('is read by DuckDB with the same sums', async () => {
    const folder = mkdtempSync(join(tmpdir(), 'duskline-parquet-'));
    try {
      const path = join(folder, 'one.parquet');
      writeFileSync(path, await file());
      const duck = await (await DuckDBInstance.create(':memory:')).connect();
      const result = await duck.runAndReadAll(
        `select count(*)::int as n, round(sum(value) filter (metric = 'rain'), 6) as rain, typeof(any_value(observed_at)) as time,
           count(interval_s)::int as intervals, count(*) filter (source = 'card')::int as card
         from '${path}'`,
      );
      expect(result.getRowObjectsJson()[0]).toEqual({
        n: READINGS,
        // 0.2 mm a sample.
        rain: Math.round(made.length * 2) / 10,
        time: 'TIMESTAMP WITH TIME ZONE',
        intervals: 0,
        card: 3,
      });
      duck.closeSync();
    } finally {
      rmSync(folder, { recursive: true, force: true });
    }
  });
});
