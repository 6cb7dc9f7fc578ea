import type { FieldNode, Site } from '@duskline/domain';
import type { SourceRule, SourceRuleEra } from '../export-source.ts';
import { instantText } from '../utc-text.ts';
import { field, toSite, type Cell, type Table } from './table.ts';

export function rulesTable(rows: readonly (readonly Cell[])[]): Table {
  return {
    name: 'qc_rules',
    title: 'Quality rules',
    description:
      'The tests behind qc_flag and qc_tests_failed, with the limits as they stood when the package was made. When limits of a site or node change, all its readings are tested again by the new ones; limits that a part brought hold for the readings of the time it was fitted. valid_from and valid_to say for which readings of this package each holds.',
    fields: [
      field('site_id', 'string', 'Site', { text: true }),
      field('node_id', 'string', 'Node', { text: true }),
      field('test', 'string', 'As in qc_tests_failed'),
      field('metric', 'string', 'Empty: for any reading'),
      field('thresholds', 'string', 'Limits in words, in the unit of the metric', { text: true }),
      field('says', 'string', 'What it looks for', { text: true }),
      field('source', 'string', 'Where the test comes from', { text: true }),
      field('valid_from', 'datetime', 'Applied to readings observed from'),
      field('valid_to', 'datetime', 'Until before'),
    ],
    foreignKeys: [toSite],
    rows,
  };
}

/** One row for each test and metric, and for each time in which its limits were others. */
export function ruleRows(
  { site, node }: { readonly site: Site; readonly node: FieldNode },
  eras: readonly SourceRuleEra[],
  { fromMs, toMs }: { readonly fromMs: number; readonly toMs: number },
): readonly (readonly Cell[])[] {
  const told = new Map<string, ToldLimit[]>();
  for (const era of eras) {
    const span = { fromMs: Math.max(era.fromMs, fromMs), toMs: Math.min(era.toMs, toMs) };
    if (span.fromMs >= span.toMs) continue;
    for (const rule of era.rules)
      for (const { metric, limit } of rule.limits.length === 0 ? FOR_ANY : rule.limits) {
        const of = `${rule.test} ${metric}`;
        const before = told.get(of) ?? [];
        told.set(of, [...before, { ...span, rule, metric, limit }]);
      }
  }
  return [...told.values()]
    .flatMap(joined)
    .map((one) => [
      site.id,
      node.name,
      one.rule.test,
      one.metric,
      one.limit,
      one.rule.says,
      one.rule.source,
      instantText(one.fromMs),
      instantText(one.toMs),
    ]);
}

interface ToldLimit {
  readonly rule: SourceRule;
  readonly metric: string;
  readonly limit: string;
  readonly fromMs: number;
  readonly toMs: number;
}

const FOR_ANY = [{ metric: '', limit: '' }];

/** Limits that a new era left as they were are told once. */
const joined = (limits: readonly ToldLimit[]): readonly ToldLimit[] =>
  limits.reduce<readonly ToldLimit[]>((before, one) => {
    const last = before.at(-1);
    return last?.toMs === one.fromMs && last.limit === one.limit && last.rule.says === one.rule.says
      ? [...before.slice(0, -1), { ...last, toMs: one.toMs }]
      : [...before, one];
  }, []);
