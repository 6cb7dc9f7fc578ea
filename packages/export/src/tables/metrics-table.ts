import { metric, type MetricKey } from '@duskline/domain';
import type { ExportRequest } from '../export-request.ts';
import { field, type Table } from './table.ts';

/** Reckoned by the server or the node, not measured; with the formula and its version. */
const derived: Readonly<Partial<Record<MetricKey, string>>> = {
  harvest_day: 'sum over the day of panel_w × time (v1), or the node’s own reckoning',
  load_day: 'sum over the day of load_w × time (v1), or the node’s own reckoning',
  yield_index: 'harvest ÷ harvest of a cloudless day at this site (v1)',
  avail_up: 'time up ÷ whole time (v1)',
  days_to_empty: 'the node’s own reckoning',
  energy_usable: 'the node’s own reckoning',
  capacity_est: 'the node’s own reckoning',
};

export function metricsTable(
  metrics: readonly MetricKey[],
  { aggregate }: Pick<ExportRequest, 'aggregate'>,
): Table {
  return {
    name: 'metrics',
    title: 'Metrics',
    description:
      'What each metric means and in which unit its values stand, in the file and in the notations of three standards.',
    fields: [
      field('metric', 'string', 'Key, as in observations', {
        constraints: { required: true, unique: true },
      }),
      field('name', 'string', 'In words', { text: true }),
      field(
        'aggregation',
        'string',
        'raw: readings as they are; else how an interval of this package is summed up',
      ),
      field('description', 'string', 'What codes mean, and what a sum or mean is of', {
        text: true,
      }),
      field('unit', 'string', 'Unit of the values in this package'),
      field('unit_senml', 'string', 'The same in SenML (RFC 8428, RFC 8798)'),
      field('unit_ucum', 'string', 'The same in UCUM'),
      field('unit_udunits', 'string', 'The same in UDUNITS'),
      field('cf_standard_name', 'string', 'Name in the CF conventions, where there is one'),
      field('kind', 'string', 'measured or derived'),
      field('formula', 'string', 'Of what is derived, with its version', { text: true }),
      field('limit_low', 'number', 'Below it a reading fails, unless a site has limits of its own'),
      field('limit_high', 'number', 'Above it a reading fails, likewise'),
      field('accuracy', 'string', 'Empty: known of parts, not of metrics; see parts.csv'),
      field('resolution', 'number', 'Step in which it is usually shown'),
    ],
    primaryKey: ['metric'],
    rows: metrics.map((key) => {
      const one = metric(key);
      const formula = derived[key];
      return [
        key,
        one.label,
        aggregate === undefined ? 'raw' : SUMMED[one.aggregate],
        [
          aggregate === undefined ? undefined : HOW[one.aggregate],
          one.codes?.map((word, code) => `${code} = ${word}`).join(', '),
        ]
          .filter((text) => text !== undefined)
          .join('; '),
        one.unit,
        one.senml,
        one.ucum,
        one.udunits,
        one.cfName,
        formula === undefined ? 'measured' : 'derived',
        formula,
        one.span[0],
        one.span[1],
        null,
        Number(`1e-${one.decimals}`),
      ];
    }),
  };
}

/** As the column aggregation of observations has it. */
const SUMMED = {
  mean: 'mean',
  sum: 'sum',
  last: 'last',
  'circular-mean': 'mean',
  count: 'last',
} as const;
/** Where one word does not say it. */
const HOW: Readonly<Partial<Record<keyof typeof SUMMED, string>>> = {
  'circular-mean': 'mean of the directions as unit vectors',
  count: 'last value of the counter',
};
