import { HOUR_MS, type HourlyHistory, type PowerSystem } from '@duskline/domain';
import { describe, expect, it } from 'vitest';
import { estimatePastCharges, withPastCharges } from './estimate-past-charges.ts';

const power: PowerSystem = {
  panel: { ratedW: 50, tiltDeg: 65, azimuthDeg: 180 },
  battery: { chemistry: 'lead-acid-flooded', ratedWh: 480, seriesCells: 6 },
  charger: 'mppt',
  shutDownRatio: 0.4,
  restartRatio: 0.7,
  offStateDrawW: 0.1,
  usualGapS: 30,
};
const startMs = Date.UTC(2026, 10, 20);
const none = [null, null, null, null];
const history: HourlyHistory = {
  startMs,
  panelW: none,
  loadW: none,
  chargeRatio: [null, 0.9, null, null],
  // 12.70 V full and 12.06 V half full at rest: a charge-controller maker's table for 12 V lead-acid.
  batteryV: [12.7, 12.7, null, 12.06],
  batteryA: [0, 0, null, 0],
  batteryC: [20, 20, null, 20],
  airC: none,
};

describe('the charge of past hours', () => {
  it('is estimated only where a voltage is known and a charge is not', () => {
    const estimates = estimatePastCharges(history, power);
    expect(estimates.map(({ observedAtMs }) => (observedAtMs - startMs) / HOUR_MS)).toEqual([
      0.5, 3.5,
    ]);
    expect(estimates[0]?.ratio).toBeGreaterThan(0.85);
    // The table's own error of some ten points, see the trade notes on charge from voltage.
    expect(Math.abs((estimates[1]?.ratio ?? 0) - 0.5)).toBeLessThan(0.15);
  });

  it('fills its hours and leaves what the gauge said', () => {
    const filled = withPastCharges(history, estimatePastCharges(history, power));
    expect(filled.chargeRatio[1]).toBe(0.9);
    expect(filled.chargeRatio[2]).toBeNull();
    expect(filled.chargeRatio[3]).not.toBeNull();
    expect(estimatePastCharges(filled, power)).toEqual([]);
  });
});
