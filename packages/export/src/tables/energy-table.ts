import { field, toSite, type Cell, type Table } from './table.ts';

export function energyTable(rows: readonly (readonly Cell[])[]): Table {
  return {
    name: 'energy',
    title: 'Harvest and load of intervals',
    description:
      'Energy of each interval of each node: hour by hour the mean power times the time heard, added up. Beside it stands the time heard: what was not heard is not in the sum, so divide by it before you compare. Power is panel_w and load_w, or voltage times current of one reading. No row: no power was read.',
    fields: [
      field('site_id', 'string', 'Site', { text: true }),
      field('node_id', 'string', 'Node', { text: true }),
      field('observed_at', 'datetime', 'Start of the interval, as in observations'),
      field('interval_s', 'number', 'Length of the interval', { unit: 's' }),
      field('harvest_wh', 'number', 'Out of the panel, while heard', { unit: 'Wh' }),
      field('harvest_heard_h', 'number', 'Time behind harvest_wh: readings × usual gap', {
        unit: 'h',
      }),
      field('load_wh', 'number', 'Into the node, while heard', { unit: 'Wh' }),
      field('load_heard_h', 'number', 'Time behind load_wh, likewise', { unit: 'h' }),
    ],
    primaryKey: ['site_id', 'node_id', 'observed_at'],
    foreignKeys: [toSite],
    rows,
  };
}
