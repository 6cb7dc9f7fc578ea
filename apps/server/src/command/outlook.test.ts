import { execFile } from 'node:child_process';
import { mkdtempSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';

const command = fileURLToPath(new URL('./outlook.ts', import.meta.url));
const folder = mkdtempSync(join(tmpdir(), 'duskline-outlook-'));
const file = (name: string, text: string): string => {
  writeFileSync(join(folder, name), text);
  return join(folder, name);
};

const site = file(
  'site.json',
  JSON.stringify({
    lat: 54.5,
    lon: -2.1,
    elevationM: 310,
    panel: { powerW: 10, tiltDeg: 60, azimuthDeg: 180 },
    battery: { chemistry: 'li-ion-nmc', capacityWh: 100, cells: 3 },
    shutDownLevel: 0.1,
    restartLevel: 0.9,
  }),
);
/** Ten days in December without sun: 1 W of load takes 24 % of 100 Wh a day; charged by nothing that is told. */
const readings = file(
  'log.csv',
  [
    'time_utc,charge_pct,panel_w,load_w',
    ...Array.from({ length: 72 }, (_, hour) => {
      const at = new Date(Date.UTC(2025, 11, 10, hour)).toISOString();
      return `${at},${(95 - hour).toFixed(1)},0,1`;
    }),
  ].join('\n'),
);

const run = (args: readonly string[]) =>
  new Promise<{ readonly code: number; readonly out: string; readonly err: string }>((resolve) => {
    execFile(
      process.execPath,
      ['--conditions=development', '--import', 'tsx', command, ...args],
      (error, out, err) => resolve({ code: Number(error?.code ?? 0), out, err }),
    );
  });

describe('npm run outlook', () => {
  it('gives one JSON object a line, in the order asked for', async () => {
    const at = '2025-12-13T00:00Z,2025-12-12T00:00Z';
    const { code, out, err } = await run([
      '--site',
      site,
      '--readings',
      readings,
      '--at',
      at,
      '--json',
    ]);
    expect({ code, err }).toEqual({ code: 0, err: '' });
    const lines = out
      .trim()
      .split('\n')
      .map((line) => JSON.parse(line) as { issuedAt: string; quantilesDays: object | null });
    expect(lines.map(({ issuedAt }) => issuedAt)).toEqual([
      '2025-12-13T00:00:00.000Z',
      '2025-12-12T00:00:00.000Z',
    ]);
    // By hand: 24 % left at 1 % an hour are 14 h above the shut-down level of 10 %, dark December or not.
    const [median] = [lines[0]!.quantilesDays as Record<string, number>].map((all) => all['0.50']);
    expect(median).toBeGreaterThan(0.3);
    expect(median).toBeLessThan(1.2);
  });

  it('says a sentence a time without --json', async () => {
    const { out } = await run([
      '--site',
      site,
      '--readings',
      readings,
      '--at',
      '2025-12-13T00:00Z',
    ]);
    expect(out).toMatch(/^2025-12-13T00:00:00\.000Z {2}empty in P10 [\d.]+, P50 /);
  });

  it.each([
    [['--readings', readings], /--site, --readings and --at are needed/],
    [
      ['--site', join(folder, 'none.json'), '--readings', readings, '--at', '2025-12-13'],
      /none\.json cannot be read/,
    ],
    [
      ['--site', site, '--readings', readings, '--at', 'yesterday'],
      /“yesterday” is no time such as 2026-01-05T00:00Z/,
    ],
    [
      ['--site', readings, '--readings', readings, '--at', '2025-12-13'],
      /log\.csv, the file: it is no JSON/,
    ],
  ])('says what is wrong, without a stack, and ends with 2: %j', async (args, says) => {
    const { code, out, err } = await run(args);
    expect(code).toBe(2);
    expect(out).toBe('');
    expect(err).toMatch(says);
    expect(err).not.toMatch(/ {4}at /);
  });
});
