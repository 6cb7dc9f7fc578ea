import { Ajv } from 'ajv';
import addFormats from 'ajv-formats';
import { createHash } from 'node:crypto';
import { describe, expect, it } from 'vitest';
import { readZip } from '../../../apps/server/src/export/testing-zip.ts';
import { dataPackageProfile } from './data-package-profile.ts';
import { exported, READINGS, TO_MS } from './made-up-source.ts';

interface Descriptor {
  readonly $schema: string;
  readonly resources: readonly {
    readonly name: string;
    readonly path: string;
    readonly bytes: number;
    readonly hash: string;
    readonly rows?: number;
    readonly schema?: {
      readonly fields: readonly { readonly name: string }[];
      readonly foreignKeys?: readonly {
        readonly fields: readonly string[];
        readonly reference: { readonly resource: string; readonly fields: readonly string[] };
      }[];
    };
  }[];
}

const descriptorOf = (files: ReadonlyMap<string, Buffer>): Descriptor =>
  JSON.parse(files.get('datapackage.json')!.toString('utf8')) as Descriptor;

/** A reader of RFC 4180 of the test's own. */
function parseCsv(text: string): string[][] {
  const rows: string[][] = [[]];
  let cell = '';
  let quoted = false;
  for (let i = 0; i < text.length; i += 1) {
    const mark = text[i]!;
    if (quoted) {
      if (mark === '"' && text[i + 1] === '"') {
        cell += '"';
        i += 1;
      } else if (mark === '"') quoted = false;
      else cell += mark;
    } else if (mark === '"') quoted = true;
    else if (mark === ',') {
      rows.at(-1)!.push(cell);
      cell = '';
    } else if (mark === '\r' && text[i + 1] === '\n') {
      rows.at(-1)!.push(cell);
      cell = '';
      rows.push([]);
      i += 1;
    } else cell += mark;
  }
  rows.pop();
  return rows;
}

describe('a package', () => {
  it('keeps to the profile of Data Package v2.0', async () => {
    const ajv = new Ajv({ allErrors: true, strictTypes: false });
    (addFormats as unknown as (instance: Ajv) => void)(ajv);
    const validate = ajv.compile(dataPackageProfile);
    for (const choices of [{}, { wide: true, localTime: true }, { format: 'parquet' }] as const) {
      const descriptor = descriptorOf(await readZip(await exported(choices)));
      expect(validate(descriptor), JSON.stringify(validate.errors)).toBe(true);
      // The profile takes any text here.
      expect(descriptor.$schema).toBe('https://datapackage.org/profiles/2.0/datapackage.json');
    }
    // The profile can say no: to each of these, which differ from a package in one thing.
    const packageWith = (resource: object) => ({
      resources: [{ name: 'a', path: 'a.csv', ...resource }],
    });
    const tableWith = (schema: object) =>
      packageWith({
        type: 'table',
        schema: { fields: [{ name: 'x', type: 'number' }], ...schema },
      });
    const keyed = (reference: object) =>
      tableWith({ foreignKeys: [{ fields: ['x', 'x'], reference }] });
    for (const right of [
      tableWith({}),
      tableWith({ fields: [{ name: 'x', type: 'datetime', format: '%Y' }] }),
      keyed({ fields: ['x'] }),
      packageWith({ schema: 'schema.json' }),
      packageWith({ dialect: { quoteChar: '' } }),
    ])
      expect(validate(right), JSON.stringify(right)).toBe(true);
    for (const wrong of [
      { resources: [] },
      { resources: [{ path: 'a.csv' }] },
      packageWith({ path: '../outside.csv' }),
      packageWith({ type: 'sheet' }),
      packageWith({ bytes: '12' }),
      tableWith({ fields: [] }),
      tableWith({ fields: [{ name: 'x', type: 'decimal' }] }),
      tableWith({ fields: [{ name: 'x', type: 'integer', categories: [{ value: 'one' }] }] }),
      tableWith({ fields: [{ name: 'x', type: 'string', constraints: { enum: [] } }] }),
      tableWith({ fields: [{ name: 'x', type: 'number', constraints: { required: 'yes' } }] }),
      tableWith({ missingValues: [null] }),
      tableWith({ primaryKey: ['x', 'x'] }),
      tableWith({ foreignKeys: [{ fields: ['x'] }] }),
      tableWith({ foreignKeys: [{ fields: ['x'], reference: { resource: 'b', fields: 'x' } }] }),
      keyed({ fields: ['x', 'x'] }),
      { ...packageWith({}), $schema: 2 },
      { ...packageWith({}), keywords: [] },
      { ...packageWith({}), contributors: [{ givenName: 1 }] },
      packageWith({ homepage: 'no address' }),
      packageWith({ sources: [{}] }),
      packageWith({ licenses: [{ title: 'Free' }] }),
      packageWith({ schema: 7 }),
      packageWith({ dialect: { headerRows: [0] } }),
      packageWith({ dialect: { itemType: 'text' } }),
      tableWith({ fieldsMatch: 'exact' }),
      tableWith({ fields: [{ name: 'x', type: 'list' }] }),
      tableWith({ fields: [{ name: 'x', type: 'string', missingValues: [null] }] }),
      tableWith({ fields: [{ name: 'x', type: 'string', categoriesOrdered: 'yes' }] }),
      tableWith({ fields: [{ name: 'x', type: 'boolean', trueValues: [] }] }),
      tableWith({ fields: [{ name: 'x', type: 'date', constraints: { minimum: 1 } }] }),
    ])
      expect(validate(wrong), JSON.stringify(wrong)).toBe(false);
  });

  it('describes every file: bytes, sha-256, rows, columns, and keys that lead somewhere', async () => {
    const files = await readZip(await exported({ wide: true }));
    const { resources } = descriptorOf(files);
    expect(resources.map(({ path }) => path).sort()).toEqual(
      [...files.keys()].filter((name) => name !== 'datapackage.json').sort(),
    );
    const tables = new Map<string, string[][]>();
    for (const { name, path, bytes, hash, rows, schema } of resources) {
      const content = files.get(path)!;
      expect(content.length, path).toBe(bytes);
      expect(`sha256:${createHash('sha256').update(content).digest('hex')}`, path).toBe(hash);
      if (schema === undefined) continue;
      const table = parseCsv(content.toString('utf8'));
      tables.set(name, table);
      expect(table[0], path).toEqual(schema.fields.map((field) => field.name));
      expect(table.length - 1, path).toBe(rows);
      expect(new Set(table.map((row) => row.length)).size, path).toBe(1);
    }
    expect(tables.get('observations')!.length - 1).toBe(READINGS);
    const column = (table: string, field: string): string[] => {
      const [heading = [], ...rows] = tables.get(table)!;
      return rows.map((row) => row[heading.indexOf(field)]!);
    };
    let keys = 0;
    for (const { name, schema } of resources)
      for (const { fields, reference } of schema?.foreignKeys ?? []) {
        const there = new Set(column(reference.resource, reference.fields[0]!));
        keys += 1;
        expect(
          column(name, fields[0]!).filter((value) => !there.has(value)),
          name,
        ).toEqual([]);
      }
    expect(keys).toBeGreaterThan(4);
  });

  it('has gaps that with the readings are the whole period', async () => {
    const files = await readZip(await exported());
    const [heading = [], ...rows] = parseCsv(files.get('gaps.csv')!.toString('utf8'));
    expect(rows.map((row) => row[heading.indexOf('cause')])).toEqual(['dark as designed']);
    expect(rows.map((row) => row[heading.indexOf('confidence')])).toEqual(['high']);
    // The second day of three, by hand.
    expect(rows[0]?.[heading.indexOf('duration')]).toBe('86400');
    const readme = files.get('README.txt')!.toString('utf8');
    expect(readme).toContain('Data 48.0 h + gaps 24.0 h = 72.0 h');
    // Half a day more was asked for than there had been: it is no part of the sum.
    const early = await readZip(await exported({ toMs: TO_MS + 43_200_000 }));
    expect(early.get('README.txt')!.toString('utf8')).toContain(
      'Data 48.0 h + gaps 24.0 h = 72.0 h, the whole period of all nodes up to 2026-10-27T00:00:00Z, when this was made.',
    );
    expect(readme).toContain('Gaps are not random: nodes go dark in dark, cold weather');
    expect(readme).toContain('(part 1) at upper-weir was taken out, part 2 came in its place');
  });

  it('says what an analyst would stumble over: rounded heights, missing rows, empty units', async () => {
    const readmeOf = async (options: Parameters<typeof exported>[0]): Promise<string> =>
      (await readZip(await exported(options))).get('README.txt')!.toString('utf8');
    const readme = await readmeOf({});
    expect(readme).toContain('elevation is rounded to 50 m');
    expect(readme).toContain('A reading that is missing has no row in the long table');
    expect(readme).toContain('An empty unit means that the metric has none');
    expect(readme).not.toContain('has an empty cell');
    expect(await readmeOf({ wide: true })).toContain('has an empty cell');
    expect(await readmeOf({ positions: 'exact' })).not.toContain('elevation is rounded');
  });

  it('has no row before the range, and says of a cut one how long it is', async () => {
    const aggregate = { length: '1d', day: 'civil', extremes: false } as const;
    // From six hours into 24 October by the clock of the site, which is an hour ahead of UTC.
    const files = await readZip(await exported({ aggregate, fromMs: TO_MS - 67 * 3_600_000 }));
    const [heading = [], ...rows] = parseCsv(files.get('observations.csv')!.toString('utf8'));
    const of = (field: string): string[] =>
      rows
        .filter((row) => row[heading.indexOf('metric')] === 'rain')
        .map((row) => row[heading.indexOf(field)]!);
    expect(of('observed_at')[0]).toBe('2026-10-24T05:00:00Z');
    expect(of('interval_s')[0]).toBe(String(18 * 3600));
    // A reading every ten minutes.
    expect(of('n_expected')[0]).toBe('108');
    const readme = files.get('README.txt')!.toString('utf8');
    expect(readme).toContain(
      'The first row of a site covers no time before 2026-10-24T05:00:00Z, the last none from 2026-10-27T00:00:00Z on',
    );
    // No power is read there: the table says so by having no row, and how it is reckoned.
    expect(files.get('energy.csv')!.toString('utf8')).toBe(
      'site_id,node_id,observed_at,interval_s,harvest_wh,harvest_heard_h,load_wh,load_heard_h\r\n',
    );
    expect(readme).toContain('energy.csv has harvest and load of each interval in Wh');
  });

  it('has roles in place of names, unless names were asked for, and says what it has of people', async () => {
    const plain = await readZip(await exported());
    expect(plain.get('events.csv')!.toString('utf8')).toMatch(/,keeper\r\n/);
    for (const [name, content] of plain) expect(content.includes('A. Keeper'), name).toBe(false);
    expect(plain.get('README.txt')!.toString('utf8')).toContain('with roles in place of names');
    const named = await readZip(await exported({ names: true }));
    expect(named.get('events.csv')!.toString('utf8')).toMatch(/,A\. Keeper\r\n/);
    expect(named.get('README.txt')!.toString('utf8')).toContain('They are personal data');
  });

  it('guards every text that a spreadsheet might run', async () => {
    const files = await readZip(await exported());
    for (const [name, content] of files) {
      if (!name.endsWith('.csv') || name.startsWith('observations')) continue;
      const numeric = /^-?\d+(\.\d+)?(e-?\d+)?$/;
      for (const row of parseCsv(content.toString('utf8')).slice(1))
        for (const cell of row)
          if (!numeric.test(cell)) expect(cell, name).not.toMatch(/^[=+\-@\t\r\0＝＋－＠]/);
    }
    const observations = parseCsv(files.get('observations.csv')!.toString('utf8'));
    expect(observations[1]).toEqual([
      'upper-weir',
      "'-weir-1",
      'air_temp',
      '2026-10-24T00:00:00Z',
      '-12.3',
      '°C',
      '1',
      '',
      'synced',
      'raw',
      '',
      '1',
      '1',
      '2026-10-24T00:00:00.5Z',
      'air',
    ]);
  });

  it('is the same bytes when it is made again', async () => {
    for (const format of ['zip', 'csv', 'ndjson', 'parquet'] as const) {
      const [one, two] = [await exported({ format }), await exported({ format })];
      expect(one.equals(two), format).toBe(true);
    }
  });

  it('says the same as NDJSON, a JSON text a line', async () => {
    const lines = (await exported({ format: 'ndjson' })).toString('utf8').trimEnd().split('\n');
    expect(lines).toHaveLength(READINGS);
    expect(JSON.parse(lines[0]!)).toEqual({
      site_id: 'upper-weir',
      node_id: '-weir-1',
      metric: 'air_temp',
      observed_at: '2026-10-24T00:00:00Z',
      value: -12.3,
      unit: '°C',
      qc_flag: 1,
      qc_tests_failed: '',
      time_quality: 'synced',
      aggregation: 'raw',
      interval_s: null,
      n_samples: 1,
      part_id: '1',
      received_at: '2026-10-24T00:00:00.5Z',
      source: 'air',
    });
  });
});
