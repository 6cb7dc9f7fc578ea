import { execFileSync, spawnSync } from 'node:child_process';
import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { readZip } from '../../../apps/server/src/export/testing-zip.ts';
import { exported, made, READINGS } from './made-up-source.ts';

const snippets = fileURLToPath(new URL('../../../packages/export/snippets/', import.meta.url));
const folder = mkdtempSync(join(tmpdir(), 'duskline-snippets-'));

const runs = (program: string, args: readonly string[]): boolean =>
  spawnSync(program, args, { stdio: 'ignore' }).status === 0;
/** Debian's own comes second where another one is installed before it. */
const python = ['python3', '/usr/bin/python3'].find((one) => runs(one, ['-c', 'import pandas']));
const hasPandas = python !== undefined;
const hasR = runs('Rscript', ['--version']);
if (!hasPandas)
  process.stderr.write('SKIPPED: the pandas snippet; install Debian’s python3-pandas to run it.\n');
if (!hasR)
  process.stderr.write('SKIPPED: the R snippet; install Debian’s r-base-core to run it.\n');

beforeAll(async () => {
  for (const [name, content] of await readZip(await exported())) {
    mkdirSync(dirname(join(folder, name)), { recursive: true });
    writeFileSync(join(folder, name), content);
  }
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

/** By hand: half of the values are −12.3, half 4.1, one −12.3 is suspect; 12.81 V and 0.2 mm a sample. */
const half = made.length / 2;
const SUM = Number((half * (4.1 - 12.3) + made.length * (12.81 + 0.2)).toFixed(6));
const MEAN = Number(((half * 4.1 - (half - 1) * 12.3) / (made.length - 1)).toFixed(6));

describe('the snippets answer the five questions', () => {
  it.skipIf(!hasPandas)('in Python with pandas', () => {
    const out = execFileSync(
      python ?? 'python3',
      [join(snippets, 'read_package.py'), folder, 'air_temp', 'upper-weir'],
      { encoding: 'utf8' },
    );
    expect(JSON.parse(out)).toEqual({
      rows: READINGS,
      value_type: 'float64',
      time_type: 'datetime64[ns, UTC]',
      sum: SUM,
      mean_of_metric: MEAN,
      version: '1.0.0',
      answers: {
        unit: '°C',
        time_zone_of_times: 'UTC',
        time_zone_of_site: 'Europe/London',
        longest_gap: {
          from: '2026-10-25T00:00:00Z',
          to: '2026-10-26T00:00:00Z',
          cause: 'dark as designed',
        },
        parts_changed: 1,
        position_blur_m: 800,
      },
    });
  });

  it.skipIf(!hasR)('in R', () => {
    const out = execFileSync(
      'Rscript',
      ['--vanilla', join(snippets, 'read_package.R'), folder, 'air_temp', 'upper-weir'],
      { encoding: 'utf8', env: { ...process.env, LC_ALL: 'C.UTF-8' } },
    );
    const said = Object.fromEntries(
      out
        .trim()
        .split('\n')
        .map((line) => line.split('=') as [string, string]),
    );
    expect({
      ...said,
      sum: Number(said['sum']),
      mean_of_metric: Number(said['mean_of_metric']),
    }).toEqual({
      rows: String(READINGS),
      value_type: 'numeric',
      time_type: 'POSIXct',
      sum: SUM,
      mean_of_metric: MEAN,
      unit: '°C',
      time_zone_of_times: 'UTC',
      time_zone_of_site: 'Europe/London',
      gap_from: '2026-10-25T00:00:00Z',
      gap_to: '2026-10-26T00:00:00Z',
      gap_cause: 'dark as designed',
      parts_changed: '1',
      position_blur_m: '800',
    });
  });
});
