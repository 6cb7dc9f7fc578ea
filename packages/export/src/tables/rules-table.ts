import type { FieldNode, Site } from '@duskline/domain';
import type { SourceRule } from '../export-source.ts';
import { instantText } from '../utc-text.ts';
import { field, toSite, type Cell, type Table } from './table.ts';

export function rulesTable(rows: readonly (readonly Cell[])[]): Table {
  return {
    name: 'qc_rules',
    title: 'Quality rules',
    description:
      'The tests behind qc_flag and qc_tests_failed, with the limits in force when the package was made. When limits change, all readings are tested again by the new ones: they hold for the whole period.',
    fields: [
      field('site_id', 'string', 'Site', { text: true }),
      field('node_id', 'string', 'Node', { text: true }),
      field('test', 'string', 'As in qc_tests_failed'),
      field('metric', 'string', 'Empty: for any reading'),
      field('thresholds', 'string', 'Limits in words, in the unit of the metric', { text: true }),
      field('says', 'string', 'What it looks for', { text: true }),
      field('source', 'string', 'Where the test comes from', { text: true }),
      field('valid_from', 'datetime', 'Applied to readings from'),
      field('valid_to', 'datetime', 'Until'),
    ],
    foreignKeys: [toSite],
    rows,
  };
}

export const ruleRows = (
  { site, node }: { readonly site: Site; readonly node: FieldNode },
  rules: readonly SourceRule[],
  { fromMs, toMs }: { readonly fromMs: number; readonly toMs: number },
): readonly (readonly Cell[])[] =>
  rules.flatMap((rule) => {
    const cells = (metric: string, limit: string): readonly Cell[] => [
      site.id,
      node.name,
      rule.test,
      metric,
      limit,
      rule.says,
      rule.source,
      instantText(fromMs),
      instantText(toMs),
    ];
    return rule.limits.length === 0
      ? [cells('', '')]
      : rule.limits.map(({ metric, limit }) => cells(metric, limit));
  });
