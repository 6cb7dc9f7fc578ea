import { describe, expect, it } from 'vitest';
import { amountRange, whatIfChange, whatIfKinds } from './what-if-change.ts';

const power = {
  panelW: 20,
  panelTiltDeg: 52,
  panelAzimuthDeg: 180,
  batteryChemistry: 'lifepo4',
  batteryWh: 154,
  seriesCells: 4,
  charger: 'mppt',
  shutDownRatio: 0.1,
  restartRatio: 0.5,
  offStateDrawW: 0.03,
  usualGapS: 300,
};

describe('what if', () => {
  it('asks in shares and factors what a person says in percent, watts and watt-hours', () => {
    expect(whatIfChange('log-less', 30, power)).toEqual({ kind: 'log-less', savedShare: 0.3 });
    expect(whatIfChange('clean-panel', 15, power)).toEqual({ kind: 'clean-panel', factor: 1.15 });
    expect(whatIfChange('bigger-panel', 30, power)).toEqual({ kind: 'bigger-panel', factor: 1.5 });
    expect(whatIfChange('bigger-battery', 308, power)).toEqual({
      kind: 'bigger-battery',
      factor: 2,
    });
    expect(whatIfChange('tilt', 60, power)).toEqual({ kind: 'tilt', tiltDeg: 60 });
  });

  it('begins inside its range, and never with what stands already', () => {
    for (const kind of whatIfKinds) {
      const { least, most, start } = amountRange(kind, power);
      expect(start).toBeGreaterThanOrEqual(least);
      expect(start).toBeLessThanOrEqual(most);
    }
    expect(amountRange('bigger-panel', power).least).toBeGreaterThan(20);
    expect(amountRange('bigger-battery', power).least).toBeGreaterThan(154);
  });
});
