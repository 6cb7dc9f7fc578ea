import type { PowerSystem } from '@duskline/domain';
import { describe, expect, it } from 'vitest';
import { batteryPackOf } from '../battery-pack.ts';
import { stepBattery } from '../step-battery.ts';
import { runtimeOf } from './runtime.ts';

const battery = { chemistry: 'li-ion-nmc', ratedWh: 100, seriesCells: 3 } as const;

describe('how long a battery lasts', () => {
  it('is usable energy over load, by hand: 90 Wh at 0.97 out of the cells over 1 W', () => {
    const found = runtimeOf({ battery, loadW: 1, toRatio: 0.1 });
    expect(found.usableWh).toBeCloseTo(90, 9);
    // 2 % a month of some 50 Wh takes 0.13 Wh in those days.
    expect(found.hours).toBeGreaterThan(87.3 - 0.4);
    expect(found.hours).toBeLessThan(87.3);
    expect(found.highHours).toBe(found.hours);
    expect(found.lowHours / found.hours).toBeCloseTo(0.8, 2); // a worn battery: 80 % of the nameplate
  });

  it('shrinks in the cold by the published factor: 0.6 at −10 °C (NREL System Advisor Model)', () => {
    const warm = runtimeOf({ battery, loadW: 1, toRatio: 0.1 });
    const cold = runtimeOf({ battery, loadW: 1, toRatio: 0.1, batteryC: -10 });
    expect(cold.hours / warm.hours).toBeCloseTo(0.6, 2);
    expect(cold.isOutsideLimits).toBe(false);
    expect(runtimeOf({ battery, loadW: 1, toRatio: 0.1, batteryC: -21 }).isOutsideLimits).toBe(
      true,
    );
  });

  it('ends on the shelf by self-discharge alone when almost nothing is drawn', () => {
    // 20 % a month of what is there: from full to half takes ln 2 / 0.2 months at 20 °C (Battery University BU-802b, from memory).
    const nimh = { chemistry: 'nimh', ratedWh: 10, seriesCells: 4 } as const;
    const found = runtimeOf({ battery: nimh, loadW: 1e-9, toRatio: 0.5, batteryC: 20 });
    expect(found.hours / 730.5).toBeCloseTo(Math.log(2) / 0.2, 2);
  });

  it.each([
    ['li-ion-nmc', 25],
    ['lead-acid-flooded', 5],
    ['nimh', 40],
  ] as const)('agrees with hourly steps of the balance for %s at %d °C', (chemistry, batteryC) => {
    const power: PowerSystem = {
      panel: { ratedW: 1, tiltDeg: 0, azimuthDeg: 0 },
      battery: { ...battery, chemistry },
      charger: 'mppt',
      shutDownRatio: 0.2,
      restartRatio: 0.9,
      offStateDrawW: 0,
      usualGapS: 60,
    };
    const pack = batteryPackOf(power);
    let state: { chargeRatio: number; dark: boolean } = { chargeRatio: 1, dark: false };
    let hours = 0;
    while (!state.dark) {
      const step = stepBattery(state, { pack, harvestW: 0, loadW: 0.3, batteryC });
      hours += step.upHours;
      state = step;
    }
    const found = runtimeOf({ battery: power.battery, loadW: 0.3, toRatio: 0.2, batteryC });
    expect(Math.abs(hours / found.hours - 1)).toBeLessThan(0.005);
  });

  it('says when lead–acid is emptied faster than it is rated for', () => {
    const lead = { chemistry: 'lead-acid-agm', ratedWh: 100, seriesCells: 6 } as const;
    expect(runtimeOf({ battery: lead, loadW: 5.1, toRatio: 0.5 }).isFasterThanRated).toBe(true);
    expect(runtimeOf({ battery: lead, loadW: 4.9, toRatio: 0.5 }).isFasterThanRated).toBe(false);
    expect(runtimeOf({ battery, loadW: 50, toRatio: 0.5 }).isFasterThanRated).toBe(false);
  });

  it('takes a measured health at its word, within a tenth', () => {
    const found = runtimeOf({ battery, loadW: 1, toRatio: 0.1, healthRatio: 0.7 });
    expect(found.usableWh).toBeCloseTo(63, 9);
    expect(found.lowHours / found.hours).toBeCloseTo(0.9, 2);
    expect(found.highHours / found.hours).toBeCloseTo(1.1, 2);
  });

  it('refuses to run up to a level above the start', () => {
    expect(() => runtimeOf({ battery, loadW: 1, fromRatio: 0.2, toRatio: 0.5 })).toThrow(/toRatio/);
  });
});
