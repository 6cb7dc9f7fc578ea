import { metric, qualityFlags, type MetricKey } from '@duskline/domain';
import type { ExportFrame, ExportSite } from './export-source.ts';
import type { ExportRequest } from './export-request.ts';
import { field, toSite, type Field, type Table } from './tables/table.ts';
import { instantText } from './utc-text.ts';
import type { WrittenFile } from './zip-file.ts';

const FLAGS = Object.entries(qualityFlags).map(([label, value]) => ({ value, label }));

/** Fields of observations.csv; units vary by row and stand beside the value. */
export function observationFields(request: ExportRequest): readonly Field[] {
  return [
    field('site_id', 'string', 'Site', { constraints: { required: true } }),
    field('node_id', 'string', 'Node', { constraints: { required: true } }),
    field('metric', 'string', 'See metrics.csv', { constraints: { required: true } }),
    field(
      'observed_at',
      'datetime',
      request.aggregate === undefined ? 'When it was measured, UTC' : 'Start of the interval, UTC',
      { constraints: { required: true } },
    ),
    field('value', 'number', 'As measured, in `unit`', { constraints: { required: true } }),
    field('unit', 'string', 'Unit of the value'),
    field('qc_flag', 'integer', 'Quality flag after the QARTOD manuals', { categories: FLAGS }),
    field('qc_tests_failed', 'string', 'Tests that found fault, a space between; see qc_rules.csv'),
    field('time_quality', 'string', 'How far observed_at can be trusted', {
      constraints: { enum: ['synced', 'held-over', 're-dated', 'unsure'] },
    }),
    field('aggregation', 'string', 'raw: a reading; else how the interval is summed up', {
      constraints: { enum: ['raw', 'mean', 'min', 'max', 'sum', 'last'] },
    }),
    field('interval_s', 'number', 'Length of the interval; empty for a reading', { unit: 's' }),
    field('n_samples', 'integer', 'Readings behind the value'),
    field('part_id', 'string', 'Part that measured it, or of which it is; see parts.csv'),
    field('received_at', 'datetime', 'When the server had it, UTC; of an interval the latest'),
    field('source', 'string', 'By which way it came', {
      constraints: { enum: ['air', 'card', 'air and card'] },
    }),
    ...(request.aggregate === undefined
      ? []
      : [
          field(
            'n_expected',
            'integer',
            'Readings there would be at the gap the node kept (median within the interval; where fewer than four came, the one before, else the usual gap of the node): n_samples ÷ n_expected is the completeness',
          ),
        ]),
    ...(request.localTime
      ? [
          field(
            'observed_at_local',
            'datetime',
            'observed_at by the clock of the site, with its offset',
          ),
        ]
      : []),
  ];
}

export function wideFields(
  metrics: readonly MetricKey[],
  request: Pick<ExportRequest, 'localTime' | 'aggregate'>,
): readonly Field[] {
  return [
    field('site_id', 'string', 'Site'),
    field('node_id', 'string', 'Node'),
    field(
      'observed_at',
      'datetime',
      request.aggregate === undefined ? 'When measured, UTC' : 'Start of the interval, UTC',
    ),
    ...(request.localTime
      ? [
          field(
            'observed_at_local',
            'datetime',
            'The same by the clock of the site, with its offset',
          ),
        ]
      : []),
    field('interval_s', 'number', 'Length of the interval; empty for readings', { unit: 's' }),
    ...metrics.flatMap((key) => [
      field(
        key,
        'number',
        metric(key).label,
        metric(key).unit === '' ? {} : { unit: metric(key).unit },
      ),
      field(`${key}_qc_flag`, 'integer', `Quality flag of ${key}`, { categories: FLAGS }),
    ]),
  ];
}

export const observationKeys: Pick<Table, 'foreignKeys'> = {
  foreignKeys: [
    toSite,
    { fields: ['metric'], reference: { resource: 'metrics', fields: ['metric'] } },
  ],
};

/** One file of the package with what the descriptor says of it. */
export interface DescribedFile extends WrittenFile {
  readonly title: string;
  readonly description: string;
  readonly rows?: number;
  readonly fields?: readonly Field[];
  readonly primaryKey?: readonly string[];
  readonly foreignKeys?: Table['foreignKeys'];
}

const FORMATS: Readonly<Record<string, { readonly format: string; readonly mediatype: string }>> = {
  csv: { format: 'csv', mediatype: 'text/csv' },
  geojson: { format: 'geojson', mediatype: 'application/geo+json' },
  txt: { format: 'txt', mediatype: 'text/plain' },
  parquet: { format: 'parquet', mediatype: 'application/vnd.apache.parquet' },
};

/**
 * The descriptor, `datapackage.json`.
 *
 * @source Data Package v2.0 (26 June 2024), Table Schema v2.0. `unit`, `rows` are properties of ours: the standard has none.
 */
export function dataPackage(
  frame: ExportFrame,
  request: ExportRequest,
  {
    sites,
    files,
  }: { readonly sites: readonly ExportSite[]; readonly files: readonly DescribedFile[] },
): string {
  const descriptor = {
    $schema: 'https://datapackage.org/profiles/2.0/datapackage.json',
    name: frame.name.toLowerCase().replaceAll(/[^a-z0-9._-]/g, '-'),
    title: `Readings of ${sites.length === 1 ? (sites[0]?.site.name ?? '') : `${sites.length} sites`}`,
    description: `Readings from ${instantText(request.fromMs)} until before ${instantText(request.toMs)}, with units, quality and the reason of every gap. Start with README.txt.`,
    version: `${frame.version}.0.0`,
    created: instantText(frame.madeAtMs),
    contributors: [{ title: frame.by, roles: ['exporter'] }],
    ...(request.licence === undefined
      ? {}
      : { licenses: [{ name: licenceName(request.licence), title: request.licence }] }),
    citation: frame.citation,
    query: JSON.parse(frame.query) as unknown,
    resources: files.map((file) => {
      const base = (file.path.split('/').at(-1) ?? file.path).toLowerCase();
      const ending = base.slice(base.lastIndexOf('.') + 1);
      return {
        name: ending === 'csv' ? base.slice(0, -4) : base,
        path: file.path,
        title: file.title,
        description: file.description,
        ...(FORMATS[ending] ?? {}),
        ...(ending === 'csv' ? { encoding: 'utf-8' } : {}),
        bytes: file.bytes,
        hash: `sha256:${file.sha256}`,
        ...(file.rows === undefined ? {} : { rows: file.rows }),
        ...(file.fields === undefined
          ? {}
          : {
              type: 'table',
              dialect: {
                delimiter: ',',
                lineTerminator: '\r\n',
                quoteChar: '"',
                doubleQuote: true,
                header: true,
              },
              schema: {
                fields: file.fields.map(({ text: _text, ...rest }) => rest),
                missingValues: [''],
                ...(file.primaryKey === undefined ? {} : { primaryKey: file.primaryKey }),
                ...(file.foreignKeys === undefined ? {} : { foreignKeys: file.foreignKeys }),
              },
            }),
      };
    }),
  };
  return `${JSON.stringify(descriptor, null, 2)}\n`;
}

const licenceName = (title: string): string => title.replaceAll(/[^A-Za-z0-9._-]+/g, '-');
