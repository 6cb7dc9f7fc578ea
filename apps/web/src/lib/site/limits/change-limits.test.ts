import type { QualityLimitsJson } from '@duskline/contract';
import { describe, expect, it } from 'vitest';
import { entryOf, withEntry, withoutMetric, type LimitEntry } from './change-limits.ts';

const set: QualityLimitsJson = {
  metrics: {
    air_temp: { failSpan: [-20, 50], spike: { suspect: 2, fail: 5 }, flatLine: null },
    batt_v: { spike: null },
  },
  cross: { chargeJumpPct: 12 },
};
const empty: LimitEntry = { low: null, high: null, spike: null };

describe('a limit from the form', () => {
  it('is put beside what was set, which stays', () => {
    expect(withEntry(set, 'rel_hum', { low: 0, high: 100, spike: null })).toEqual({
      ok: true,
      value: { ...set, metrics: { ...set.metrics, rel_hum: { failSpan: [0, 100] } } },
    });
    expect(withEntry({}, 'air_temp', { low: null, high: null, spike: 1.5 })).toEqual({
      ok: true,
      value: { metrics: { air_temp: { spike: { suspect: 1.5 } } } },
    });
  });

  it('changes what the form shows of a metric, and nothing else of it', () => {
    const changed = withEntry(set, 'air_temp', { low: -30, high: 60, spike: 3 });
    expect(changed.ok && changed.value.metrics?.['air_temp']).toEqual({
      failSpan: [-30, 60],
      spike: { suspect: 3, fail: 5 },
      flatLine: null,
    });
    const emptied = withEntry(set, 'air_temp', empty);
    expect(emptied.ok && emptied.value.metrics?.['air_temp']).toEqual({ flatLine: null });
  });

  it('does not switch a test on again by being empty', () => {
    const kept = withEntry(set, 'batt_v', { low: 10, high: 15, spike: null });
    expect(kept.ok && kept.value.metrics?.['batt_v']).toEqual({ failSpan: [10, 15], spike: null });
  });

  it('takes a metric away of which nothing is left', () => {
    const one: QualityLimitsJson = { metrics: { rain: { failSpan: [0, 5] } } };
    expect(withEntry(one, 'rain', empty)).toEqual({ ok: true, value: {} });
    expect(withoutMetric(set, 'air_temp')).toEqual({
      metrics: { batt_v: { spike: null } },
      cross: { chargeJumpPct: 12 },
    });
  });

  it.each([
    [{ low: 1, high: null, spike: null }, 'half'],
    [{ low: null, high: 1, spike: null }, 'half'],
    [{ low: 2, high: 1, spike: null }, 'upsideDown'],
    [{ low: 1, high: 1, spike: null }, 'upsideDown'],
    [{ low: null, high: null, spike: 0 }, 'notPositive'],
    [empty, 'nothing'],
  ] as const)('%j is refused: %s', (entry, fault) => {
    expect(withEntry(set, 'rain', entry)).toEqual({ ok: false, fault });
  });

  it('is shown as it was set', () => {
    expect(entryOf(set, 'air_temp')).toEqual({ low: -20, high: 50, spike: 2 });
    expect(entryOf(set, 'batt_v')).toEqual(empty);
    expect(entryOf(set, 'rain')).toEqual(empty);
  });
});
