import { describe, expect, it } from 'vitest';
import { explorerReadout } from './explorer-readout.ts';
import type { ShownSeries } from './shown-series.ts';

const atMs = Date.UTC(2026, 6, 1, 11, 30);
const minute = 60_000;
const volts = {
  metric: 'batt_v',
  label: 'battery voltage',
  unit: 'V',
  gapMs: 10 * minute,
  columns: {
    atMs: Float64Array.of(atMs - 30 * minute, atMs, atMs + 5 * minute),
    mean: Float64Array.of(12.1, 12.84, 12.9),
  },
  doubted: [{ atMs: atMs + 2 * minute, value: 99, isFail: true, tests: 'gross range' }],
} as unknown as ShownSeries;
const at = (ms: number, pxMs = minute) =>
  explorerReadout([volts], { atMs: ms, pxMs, timeZone: 'Europe/London' }).replaceAll('\u00a0', ' ');

describe('what is under the cursor', () => {
  it('is a time with its zone and the nearest value, with a doubted one that lies beside it', () => {
    expect(at(atMs)).toBe(
      'Wed 1 Jul 12:30 UTC+1 · battery voltage 12.84 V (failed 99.00 V, found by gross range)',
    );
  });

  it('is no value where there is a gap, and no doubted one that is drawn further off', () => {
    expect(at(atMs - 15 * minute)).toMatch(/battery voltage (?!12)/);
    expect(at(atMs - 15 * minute)).not.toContain('failed');
  });
});
