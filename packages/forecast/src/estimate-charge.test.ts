import { HOUR_MS, type MetricKey } from '@duskline/domain';
import { describe, expect, it } from 'vitest';
import { estimateCharge } from './estimate-charge.ts';
import { moorPower } from './testing.ts';

const nowMs = Date.UTC(2026, 10, 25, 12);
const read = (metric: MetricKey, value: number, agoMs = 0) => ({
  metric,
  value,
  observedAtMs: nowMs - agoMs,
});
const estimate = (...latest: ReturnType<typeof read>[]) =>
  estimateCharge({ latest, power: moorPower, nowMs });

describe('the charge', () => {
  it('is the gauge of the node, with a band of 1.28 times five points', () => {
    const charge = estimate(read('charge', 62), read('batt_v', 11.1))!;
    expect(charge.method).toBe('gauge');
    expect(charge.ratio).toBeCloseTo(0.62, 12);
    expect(charge.lowRatio).toBeCloseTo(0.62 - 0.06408, 5);
    expect(charge.highRatio).toBeCloseTo(0.62 + 0.06408, 5);
  });

  it('keeps its band within 0 and 1', () => {
    expect(estimate(read('charge', 100))!.highRatio).toBe(1);
    expect(estimate(read('charge', 2))!.lowRatio).toBe(0);
  });

  it('comes from the voltage where there is no gauge, or its gauge fell silent a day before', () => {
    const voltage = estimate(read('batt_v', 11.4), read('batt_i', -0.01))!;
    expect(voltage.method).toBe('rest-voltage');
    expect(voltage.ratio).toBeGreaterThan(0.3); // 3.8 V a cell at rest: mid-charge, any data sheet
    expect(voltage.ratio).toBeLessThan(0.8);
    expect(voltage.lowRatio).toBeLessThan(voltage.ratio);
    const stale = estimate(read('charge', 90, 30 * HOUR_MS), read('batt_v', 11.4))!;
    expect(stale.method).toBe('loaded-voltage');
  });

  it('does not explain a voltage by a current read an hour before', () => {
    const charge = estimate(read('batt_v', 11.4), read('batt_i', 0, HOUR_MS))!;
    expect(charge.method).toBe('loaded-voltage');
  });

  it('is unknown without charge or voltage, and not read from the future', () => {
    expect(estimate(read('panel_w', 3))).toBeUndefined();
    expect(estimate(read('charge', 50, -HOUR_MS))).toBeUndefined();
  });
});
