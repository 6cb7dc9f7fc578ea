import type { Site, FieldNode } from '@duskline/domain';
import type { Stretch } from '../split-time.ts';
import { instantText } from '../utc-text.ts';
import { field, toSite, type Cell, type Table } from './table.ts';

export function gapsTable(rows: readonly (readonly Cell[])[]): Table {
  return {
    name: 'gaps',
    title: 'Gaps',
    description:
      'Every stretch without readings, and why. What is not in a gap is data: both together are the whole period of each node. Gaps are not random: nodes go dark in dark, cold weather.',
    fields: [
      field('site_id', 'string', 'Site', { text: true }),
      field('node_id', 'string', 'Node', { text: true }),
      field('from', 'datetime', 'First instant of the gap'),
      field('to', 'datetime', 'First instant after it'),
      field('duration', 'number', 'to − from', { unit: 's' }),
      field('cause', 'string', 'Why there are no readings', {
        constraints: {
          enum: ['dark as designed', 'fault', 'link', 'clock', 'off for work', 'unknown'],
        },
      }),
      field('state', 'string', 'State of the node as it was judged'),
      field(
        'confidence',
        'string',
        'high: node or person said so; medium: figures say so; low: not known better',
        { constraints: { enum: ['high', 'medium', 'low'] } },
      ),
      field('evidence', 'string', 'Sentences with figures', { text: true }),
      field('accepted_by', 'string', 'Who accepted the gap beforehand', { text: true }),
      field('accepted_reason', 'string', 'And why', { text: true }),
    ],
    primaryKey: ['site_id', 'node_id', 'from'],
    foreignKeys: [toSite],
    rows,
  };
}

export const gapRows = (
  { site, node }: { readonly site: Site; readonly node: FieldNode },
  stretches: readonly Stretch[],
): readonly (readonly Cell[])[] =>
  stretches.flatMap(({ fromMs, toMs, gap }) =>
    gap === undefined
      ? []
      : [
          [
            site.id,
            node.name,
            instantText(fromMs),
            instantText(toMs),
            (toMs - fromMs) / 1000,
            gap.cause,
            gap.state,
            gap.confidence,
            gap.evidence.map(closed).join(' '),
            gap.accepted?.by,
            gap.accepted?.reason,
          ],
        ],
  );

/** Evidence comes with and without its full stop: in one cell sentences must not run into each other. */
const closed = (sentence: string): string => (/[.!?]$/.test(sentence) ? sentence : `${sentence}.`);
