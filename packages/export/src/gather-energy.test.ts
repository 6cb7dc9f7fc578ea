import type { FieldNode, MetricKey, NodeId, Site } from '@duskline/domain';
import { describe, expect, it } from 'vitest';
import type { ExportRequest } from './export-request.ts';
import type { ExportSource, SourceSample } from './export-source.ts';
import { gatherEnergy } from './gather-energy.ts';

const at = (text: string): number => Date.parse(`${text}:00Z`);
const site = { id: 'long-moss', timeZone: 'Europe/London' } as Site;
const node = { id: 7 as NodeId, name: 'long-moss-1', power: { usualGapS: 600 } } as FieldNode;
const sample = (text: string, values: string, more: Partial<SourceSample> = {}): SourceSample => ({
  at: `${text.replace('T', ' ')}:00+00`,
  received: '2026-10-30 00:00:00+00',
  layoutId: 1,
  timeQuality: null,
  values,
  flags: null,
  tests: null,
  stale: false,
  card: false,
  ...more,
});
/** Every ten minutes of these hours. */
const hours = (day: string, first: number, last: number, values: string): SourceSample[] =>
  Array.from({ length: (last - first) * 6 }, (_, i) => {
    const minute = first * 60 + i * 10;
    const two = (value: number): string => String(value).padStart(2, '0');
    return sample(`${day}T${two(Math.floor(minute / 60))}:${two(minute % 60)}`, values);
  });

async function energyOf(
  samples: readonly SourceSample[],
  {
    keys = ['panel_w', 'load_v', 'load_i'],
    ...request
  }: Partial<ExportRequest> & { readonly keys?: readonly MetricKey[] },
) {
  const source = {
    sites: [{ site, node }],
    people: [],
    layouts: new Map([[1, keys]]),
    async *samples() {
      yield samples.slice(0, 5);
      yield samples.slice(5);
    },
  } as unknown as ExportSource;
  const energy = gatherEnergy(source, {
    fromMs: at('2026-10-25T00:00'),
    toMs: at('2026-10-27T00:00'),
    flags: [1, 2],
    aggregate: { length: '1d', day: 'civil', extremes: false },
    ...request,
  } as ExportRequest);
  let passed = 0;
  for await (const page of energy.source.samples(node.id)) passed += page.length;
  expect(passed).toBe(samples.length);
  return energy.rows;
}

describe('the energy of intervals', () => {
  it('is power times the time heard, day by day of the site, with that time beside it', async () => {
    const rows = await energyOf(
      [
        // Two hours of 6 W in, 12 V × 0.1 A out; then half an hour of 3 W; nothing more that day.
        ...hours('2026-10-25', 8, 10, '{6,12,0.1}'),
        sample('2026-10-25T12:00', '{3,12,0.1}'),
        sample('2026-10-25T12:10', '{3,12,0.1}'),
        sample('2026-10-25T12:20', '{3,12,0.1}'),
        ...hours('2026-10-26', 9, 10, '{0,12,0.5}'),
      ],
      {},
    );
    expect(rows).toEqual([
      // Clocks went back: the civil day began 23:00 UTC, but the range does at midnight, so 24 of its 25 hours are left.
      ['long-moss', 'long-moss-1', '2026-10-25T00:00:00Z', 86_400, 13.5, 2.5, 3, 2.5],
      ['long-moss', 'long-moss-1', '2026-10-26T00:00:00Z', 86_400, 0, 1, 6, 1],
    ]);
  });

  it('follows a node that was set to another gap, and goes on over the end of an interval', async () => {
    // Every quarter of an hour from 08:50 to 11:05, though it is said to be set to ten minutes: 4 W, then silence.
    const quarters = [
      '08:50',
      '09:05',
      '09:20',
      '09:35',
      '09:50',
      '10:05',
      '10:20',
      '10:35',
      '10:50',
    ];
    const rows = await energyOf(
      [...quarters, '11:05'].map((time) => sample(`2026-10-25T${time}`, '{4,12,0.1}')),
      { aggregate: { length: '1h', day: 'utc', extremes: false } },
    );
    expect(rows.map((row) => [row[2], row[4], row[5]])).toEqual([
      ['2026-10-25T08:00:00Z', 0.667, 0.167],
      ['2026-10-25T09:00:00Z', 4, 1],
      ['2026-10-25T10:00:00Z', 4, 1],
      ['2026-10-25T11:00:00Z', 1.333, 0.333],
    ]);
  });

  it('leaves out what failed, what has no sure time, and flows that nothing reads', async () => {
    const rows = await energyOf(
      [
        sample('2026-10-25T08:00', '{6,12,0.1}'),
        sample('2026-10-25T08:10', '{600,12,0.1}', { flags: '{4,1,1}' }),
        sample('2026-10-25T08:20', '{600,12,0.1}', { timeQuality: 3 }),
      ],
      { metrics: ['panel_w'], aggregate: { length: '1h', day: 'utc', extremes: false } },
    );
    expect(rows).toEqual([
      ['long-moss', 'long-moss-1', '2026-10-25T08:00:00Z', 3600, 1, 0.167, null, 0],
    ]);
    expect(await energyOf([sample('2026-10-25T08:00', '{7}')], { keys: ['air_temp'] })).toEqual([]);
  });
});
