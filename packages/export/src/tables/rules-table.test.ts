import type { FieldNode, Site } from '@duskline/domain';
import { describe, expect, it } from 'vitest';
import type { SourceRule } from '../export-source.ts';
import { ruleRows } from './rules-table.ts';

const of = { site: { id: 'tarn-gill' } as Site, node: { name: 'tarn-gill-1' } as FieldNode };
const range = { fromMs: Date.UTC(2026, 4, 1), toMs: Date.UTC(2026, 6, 1) };
const fittedMs = Date.UTC(2026, 4, 10, 12);
const outMs = Date.UTC(2026, 5, 1);
const rules = (volts: string | undefined): SourceRule[] => [
  { test: 'impossible-date', says: 'Too old.', source: 'manuals', limits: [] },
  {
    test: 'gross-range',
    says: 'Outside.',
    source: 'manuals',
    limits: [
      ...(volts === undefined ? [] : [{ metric: 'batt_v' as const, limit: volts }]),
      { metric: 'air_temp', limit: 'fails outside -40 to 60 °C' },
    ],
  },
];
const told = (eras: Parameters<typeof ruleRows>[1]) =>
  ruleRows(of, eras, range).map((cells) => [cells[2], cells[3], cells[4], cells[7], cells[8]]);
const MAY = '2026-05-01T00:00:00Z';
const JULY = '2026-07-01T00:00:00Z';

describe('the rules of an export', () => {
  it('hold for its whole time where nothing was fitted with limits of its own', () => {
    expect(told([{ fromMs: -Infinity, toMs: Infinity, rules: rules('0 to 70 V') }])).toEqual([
      ['impossible-date', '', '', MAY, JULY],
      ['gross-range', 'batt_v', '0 to 70 V', MAY, JULY],
      ['gross-range', 'air_temp', 'fails outside -40 to 60 °C', MAY, JULY],
    ]);
  });

  it("name a part's limits for the time it was fitted, and what stayed the same once", () => {
    const rows = told([
      { fromMs: -Infinity, toMs: Date.UTC(2026, 0, 1), rules: rules('long before') },
      { fromMs: Date.UTC(2026, 0, 1), toMs: fittedMs, rules: rules('0 to 70 V') },
      { fromMs: fittedMs, toMs: outMs, rules: rules('10 to 15 V') },
      { fromMs: outMs, toMs: Infinity, rules: rules('0 to 70 V') },
    ]);
    expect(rows).toEqual([
      ['impossible-date', '', '', MAY, JULY],
      ['gross-range', 'batt_v', '0 to 70 V', MAY, '2026-05-10T12:00:00Z'],
      ['gross-range', 'batt_v', '10 to 15 V', '2026-05-10T12:00:00Z', '2026-06-01T00:00:00Z'],
      ['gross-range', 'batt_v', '0 to 70 V', '2026-06-01T00:00:00Z', JULY],
      ['gross-range', 'air_temp', 'fails outside -40 to 60 °C', MAY, JULY],
    ]);
  });

  it('leave out the time in which a test was switched off', () => {
    const rows = told([
      { fromMs: -Infinity, toMs: fittedMs, rules: rules('0 to 70 V') },
      { fromMs: fittedMs, toMs: outMs, rules: rules(undefined) },
      { fromMs: outMs, toMs: Infinity, rules: rules('0 to 70 V') },
    ]);
    expect(rows.filter(([, metric]) => metric === 'batt_v')).toEqual([
      ['gross-range', 'batt_v', '0 to 70 V', MAY, '2026-05-10T12:00:00Z'],
      ['gross-range', 'batt_v', '0 to 70 V', '2026-06-01T00:00:00Z', JULY],
    ]);
  });
});
