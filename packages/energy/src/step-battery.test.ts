import type { PowerSystem } from '@duskline/domain';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { advanceBattery, startBatteryWalk } from './advance-battery.ts';
import { batteryPackOf } from './battery-pack.ts';
import { EnergyInputError } from './errors.ts';
import { stepBattery } from './step-battery.ts';

const power: PowerSystem = {
  panel: { ratedW: 20, tiltDeg: 65, azimuthDeg: 180 },
  battery: { chemistry: 'li-ion-nmc', ratedWh: 100, seriesCells: 3 },
  charger: 'mppt',
  shutDownRatio: 0.1,
  restartRatio: 0.9,
  offStateDrawW: 0,
  usualGapS: 60,
};
const pack = batteryPackOf(power);

// Facts used below, from the tables of this chemistry: 0.97 one way, charger 0.95, 0.5 C below the taper at 85 %.
const ONE_WAY = 0.97;
const CHARGER = 0.95;
/** Self-discharge of a day at 2 % a month is 0.07 %: what a comparison by hand may be off. */
const SELF_DISCHARGE = 1e-3;

describe('stepBattery', () => {
  it('leaves a battery alone that neither gains nor gives', () => {
    const after = stepBattery(
      { chargeRatio: 0.5, dark: false },
      { pack, harvestW: 0, loadW: 0, batteryC: 25 },
    );
    expect(after.chargeRatio).toBeCloseTo(0.5, 4);
    expect(after.chargeRatio).toBeLessThan(0.5); // it still leaks a little
    expect(after).toMatchObject({ dark: false, upHours: 1, servedWh: 0, spilledWh: 0 });
  });

  it('goes dark within the hour, when the arithmetic says', () => {
    // 40 Wh down to the shut-down level at 9.7 W / 0.97 = 10 W: four hours.
    const after = stepBattery(
      { chargeRatio: 0.5, dark: false },
      { pack, harvestW: 0, loadW: 9.7, batteryC: 25, hours: 6 },
    );
    expect(after.dark).toBe(true);
    expect(after.upHours).toBeCloseTo(4, 9);
    expect(after.servedWh).toBeCloseTo(4 * 9.7, 9);
    expect(after.chargeRatio).toBeCloseTo(0.1, 3);
  });

  it('stays dark between the levels and comes back at the restart level, not before', () => {
    // 5 W of panel is 4.6075 W into the cells: 0.046075 of charge an hour, in the even part of the curve.
    const waiting = stepBattery(
      { chargeRatio: 0.8, dark: true },
      { pack, harvestW: 5, loadW: 0, batteryC: 25 },
    );
    expect(waiting.dark).toBe(true);
    expect(waiting.chargeRatio).toBeCloseTo(0.8 + (5 * CHARGER * ONE_WAY) / 100, 4);
    const back = stepBattery(
      { chargeRatio: 0.8, dark: true },
      { pack, harvestW: 5, loadW: 0, batteryC: 25, hours: 3 },
    );
    expect(back.dark).toBe(false);
    expect(back.upHours).toBeCloseTo(3 - 0.1 / 0.046075, 3);
  });

  it('draws the off-state draw while dark, down to nothing and no further', () => {
    const resting = batteryPackOf({ ...power, offStateDrawW: 0.97 });
    const after = stepBattery(
      { chargeRatio: 0.05, dark: true },
      { pack: resting, harvestW: 0, loadW: 50, batteryC: 25, hours: 24 },
    );
    expect(after.chargeRatio).toBe(0);
    expect(after.servedWh).toBeCloseTo(5 * ONE_WAY, 9);
    expect(after.upHours).toBe(0);
  });

  it('spills what a full battery cannot take', () => {
    const after = stepBattery(
      { chargeRatio: 1, dark: false },
      { pack, harvestW: 10, loadW: 1.9, batteryC: 25 },
    );
    expect(after.spilledWh).toBeCloseTo(10 - 1.9 / CHARGER, 9);
    expect(after.storedWh).toBe(0);
  });

  it('tapers near full, so that a strong panel spills before the battery is full', () => {
    const after = stepBattery(
      { chargeRatio: 0.9, dark: false },
      { pack, harvestW: 45, loadW: 0, batteryC: 25, hours: 0.25 },
    );
    expect(after.spilledWh).toBeGreaterThan(0);
    expect(after.chargeRatio).toBeLessThan(1);
    // By hand: what is missing decays at 0.5 · 0.97 / 0.15 per hour.
    expect(1 - after.chargeRatio).toBeCloseTo(0.1 * Math.exp((-0.5 * ONE_WAY * 0.25) / 0.15), 4);
  });

  it('reaches full in the end', () => {
    const after = stepBattery(
      { chargeRatio: 0.5, dark: false },
      { pack, harvestW: 45, loadW: 0, batteryC: 25, hours: 12 },
    );
    expect(after.chargeRatio).toBeGreaterThan(1 - SELF_DISCHARGE);
  });

  it('takes no charge in the cold or the heat, says why, and still feeds the load from the panel', () => {
    for (const [batteryC, blockedBy] of [
      [-0.1, 'cold'],
      [45.1, 'heat'],
    ] as const) {
      const after = stepBattery(
        { chargeRatio: 0.5, dark: false },
        { pack, harvestW: 10, loadW: 2, batteryC },
      );
      expect(after).toMatchObject({ storedWh: 0, drawnWh: 0, blockedBy });
      expect(after.servedWh).toBeCloseTo(2, 9);
    }
    const at = stepBattery(
      { chargeRatio: 0.5, dark: false },
      { pack, harvestW: 10, loadW: 2, batteryC: 0 },
    );
    expect(at.storedWh).toBeGreaterThan(0);
    expect(at.blockedBy).toBeUndefined();
  });

  it('empties a cold battery sooner', () => {
    const upHoursAt = (batteryC: number): number =>
      stepBattery(
        { chargeRatio: 0.5, dark: false },
        { pack, harvestW: 0, loadW: 9.7, batteryC, hours: 6 },
      ).upHours;
    // Source: NREL System Advisor Model default: 0.6 of the capacity at −10 °C.
    expect(upHoursAt(-10)).toBeCloseTo(4 * 0.6, 9);
  });

  it('goes dark at once when it starts at the shut-down level', () => {
    const after = stepBattery(
      { chargeRatio: 0.1, dark: false },
      { pack, harvestW: 0, loadW: 1, batteryC: 25 },
    );
    expect(after).toMatchObject({ dark: true, upHours: 0, servedWh: 0 });
  });

  it('refuses numbers no battery has', () => {
    const step = { pack, harvestW: 0, loadW: 0, batteryC: 25 };
    expect(() => stepBattery({ chargeRatio: 1.1, dark: false }, step)).toThrow(EnergyInputError);
    expect(() => stepBattery({ chargeRatio: 1, dark: false }, { ...step, harvestW: -1 })).toThrow(
      EnergyInputError,
    );
    expect(() => stepBattery({ chargeRatio: 1, dark: false }, { ...step, batteryC: NaN })).toThrow(
      EnergyInputError,
    );
    expect(() => batteryPackOf({ ...power, restartRatio: 0.1 })).toThrow(/restartRatio/);
    expect(() => batteryPackOf({ ...power, battery: { ...power.battery, ratedWh: 0 } })).toThrow(
      /ratedWh/,
    );
  });
});

const anyStep = fc.record({
  chargeRatio: fc.double({ min: 0, max: 1, noNaN: true }),
  dark: fc.boolean(),
  harvestW: fc.double({ min: 0, max: 60, noNaN: true }),
  loadW: fc.double({ min: 0, max: 60, noNaN: true }),
  batteryC: fc.double({ min: -30, max: 60, noNaN: true }),
  chemistry: fc.constantFrom('li-ion-nmc', 'lifepo4', 'lead-acid-agm', 'nimh' as const),
});
const RUNS = { seed: 20261125, numRuns: 2000 };

describe('the balance of any step', () => {
  const packOf = (chemistry: PowerSystem['battery']['chemistry']) =>
    batteryPackOf({ ...power, offStateDrawW: 0.3, battery: { ...power.battery, chemistry } });

  it('loses no energy and invents none', () => {
    fc.assert(
      fc.property(anyStep, ({ chemistry, chargeRatio, dark, ...step }) => {
        const of = packOf(chemistry);
        const after = stepBattery({ chargeRatio, dark }, { ...step, pack: of });
        const capacityWh = of.capacityWh * of.facts.capacityFactorAt(step.batteryC);
        // Handbook's tables: twice as fast for each 10 K; by whole degrees, no further than −20 and 60 °C.
        const leakC = Math.min(60, Math.max(-20, Math.round(step.batteryC)));
        const faster = 2 ** ((leakC - of.facts.selfDischargeAtC) / 10);
        const keptRatio = 1 - (of.facts.selfDischargePerMonth * faster) / 730.5;
        const cellsWh = (after.chargeRatio / keptRatio - chargeRatio) * capacityWh;
        expect(cellsWh).toBeCloseTo(after.storedWh - after.drawnWh, 9);
        // Panel: what was not spilled went through the charger to load and cells.
        const throughWh = (step.harvestW - after.spilledWh) * of.chargerEfficiency;
        const directWh = after.servedWh - after.drawnWh * of.dischargeEfficiency;
        const intoCellsWh = after.storedWh / of.chargeEfficiency;
        expect(directWh + intoCellsWh).toBeLessThanOrEqual(throughWh + 1e-9);
        // Whatever is left over was offered while nothing could take it because the cells were giving (never), so they agree
        // whenever the node was served in full.
        if (after.chargeRatio > 0) expect(directWh + intoCellsWh).toBeCloseTo(throughWh, 9);
      }),
      RUNS,
    );
  });

  it('stays within its bounds', () => {
    fc.assert(
      fc.property(anyStep, ({ chemistry, chargeRatio, dark, ...step }) => {
        const after = stepBattery({ chargeRatio, dark }, { ...step, pack: packOf(chemistry) });
        expect(after.chargeRatio).toBeGreaterThanOrEqual(0);
        expect(after.chargeRatio).toBeLessThanOrEqual(1);
        expect(after.upHours).toBeGreaterThanOrEqual(0);
        expect(after.upHours).toBeLessThanOrEqual(1 + 1e-12);
        expect(after.spilledWh).toBeGreaterThanOrEqual(0);
      }),
      RUNS,
    );
  });

  it('comes to the same in one hour as in sixty minutes', () => {
    fc.assert(
      fc.property(anyStep, ({ chemistry, chargeRatio, dark, ...step }) => {
        const of = packOf(chemistry);
        const hour = stepBattery({ chargeRatio, dark }, { ...step, pack: of });
        const walk = startBatteryWalk(chargeRatio, dark ? 'dark' : 'up');
        let upHours = 0;
        let spilledWh = 0;
        for (let minute = 0; minute < 60; minute += 1) {
          Object.assign(walk, step, { hours: 1 / 60 });
          advanceBattery(of, walk);
          upHours += walk.upHours;
          spilledWh += walk.spilledWh;
        }
        // Self-discharge comes at the end of a step: 4.4e-3 an hour of what was charged within it (half a capacity at most),
        // on average half an hour early, for nickel–metal hydride at 60 °C; less for the others and in the cool.
        expect(Math.abs(walk.chargeRatio - hour.chargeRatio)).toBeLessThan(2e-3);
        if (walk.dark === hour.dark) expect(Math.abs(upHours - hour.upHours)).toBeLessThan(0.1);
        expect(Math.abs(spilledWh - hour.spilledWh)).toBeLessThan(0.1);
      }),
      RUNS,
    );
  });
});
