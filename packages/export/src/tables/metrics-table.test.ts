import { describe, expect, it } from 'vitest';
import { metricsTable } from './metrics-table.ts';

const toldOf = (aggregate: Parameters<typeof metricsTable>[1]) => {
  const { fields, rows } = metricsTable(['air_temp', 'rain', 'wind_dir'], aggregate);
  const column = fields.findIndex(({ name }) => name === 'aggregation');
  return rows.map((cells) => [cells[0], cells[column]]);
};

describe('the metrics of an export', () => {
  it('are raw where readings were asked for as they are: no row of them is a mean', () => {
    expect(toldOf({})).toEqual([
      ['air_temp', 'raw'],
      ['rain', 'raw'],
      ['wind_dir', 'raw'],
    ]);
  });

  // Rain adds up, a direction has no plain mean: common practice, no source.
  it('say how an interval was summed up where intervals were asked for', () => {
    const hours = { length: '1h', day: 'civil', extremes: false } as const;
    expect(toldOf({ aggregate: hours })).toEqual([
      ['air_temp', 'mean'],
      ['rain', 'sum'],
      ['wind_dir', 'mean'],
    ]);
    const { fields, rows } = metricsTable(['wind_dir'], { aggregate: hours });
    const column = fields.findIndex(({ name }) => name === 'description');
    expect(rows[0]?.[column]).toContain('unit vectors');
  });
});
