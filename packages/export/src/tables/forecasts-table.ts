import type { FieldNode, Site } from '@duskline/domain';
import type { SourceOutlook } from '../export-source.ts';
import { instantText } from '../utc-text.ts';
import { field, toSite, type Cell, type Table } from './table.ts';

export function forecastsTable(rows: readonly (readonly Cell[])[]): Table {
  const days = { unit: 'd' } as const;
  return {
    name: 'forecasts',
    title: 'Outlooks as they were issued',
    description:
      'What was foretold when, for whoever wants to check it. Days count from issued_at; empty: not within the horizon.',
    fields: [
      field('site_id', 'string', 'Site', { text: true }),
      field('node_id', 'string', 'Node', { text: true }),
      field('issued_at', 'datetime', 'Issued'),
      field('hindcast', 'boolean', 'true: made afterwards from what was known then'),
      field('dark', 'boolean', 'true: the node was dark when it was issued'),
      field('kind', 'string', 'What it found'),
      field('horizon', 'number', 'How far it looks', days),
      field('p10_days', 'number', 'Days to empty: one path in ten is empty by then', days),
      field('p50_days', 'number', 'Half of the paths are', days),
      field('p90_days', 'number', 'Nine in ten are', days),
      field('dark_within_3_days', 'number', 'Probability, 0–1'),
      field('dark_within_7_days', 'number', 'Probability, 0–1'),
      field('dark_within_14_days', 'number', 'Probability, 0–1'),
      field('model', 'string', 'Model and version'),
    ],
    primaryKey: ['node_id', 'issued_at', 'hindcast'],
    foreignKeys: [toSite],
    rows,
  };
}

export const forecastRows = (
  { site, node }: { readonly site: Site; readonly node: FieldNode },
  outlooks: readonly SourceOutlook[],
): readonly (readonly Cell[])[] =>
  outlooks.map((one) => [
    site.id,
    node.name,
    instantText(one.issuedAtMs),
    String(one.hindcast),
    String(one.dark),
    one.kind,
    one.horizonDays,
    one.p10Days,
    one.p50Days,
    one.p90Days,
    one.darkWithin3Days,
    one.darkWithin7Days,
    one.darkWithin14Days,
    one.model,
  ]);
