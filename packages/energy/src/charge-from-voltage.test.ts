import { batteryChemistries } from '@duskline/domain';
import { describe, expect, it } from 'vitest';
import { packResistanceOhm } from './cell-resistance.ts';
import { batteryOf } from './batteries/battery-of.ts';
import { chargeFromVoltage } from './charge-from-voltage.ts';
import { EnergyInputError } from './errors.ts';
import { voltageFromCharge } from './voltage-from-charge.ts';

const nmc = { chemistry: 'li-ion-nmc', seriesCells: 3 } as const;

describe('chargeFromVoltage', () => {
  it('calls it rest only when the current is known to be small', () => {
    const at = (over: object): string =>
      chargeFromVoltage({ ...nmc, voltageV: 11, ...over }).method;
    expect(at({})).toBe('loaded-voltage');
    expect(at({ currentA: 0 })).toBe('rest-voltage');
    // 100 Wh of three cells is 9.26 Ah: C/20 is 0.46 A.
    expect(at({ currentA: -0.4, ratedWh: 100 })).toBe('rest-voltage');
    expect(at({ currentA: -0.5, ratedWh: 100 })).toBe('loaded-voltage');
    expect(at({ currentA: -0.4 })).toBe('loaded-voltage');
  });

  it('gives back the charge under load, when the current and the size are known', () => {
    for (const currentA of [-3, -1, 1, 3]) {
      const pack = { ...nmc, currentA, ratedWh: 100, batteryC: 5 };
      const voltageV = voltageFromCharge({ ...pack, chargeRatio: 0.6 });
      expect(chargeFromVoltage({ ...pack, voltageV }).ratio).toBeCloseTo(0.6, 6);
    }
  });

  it('lets a learnt resistance take the place of the usual one', () => {
    const reading = { ...nmc, currentA: -2, ratedWh: 100, voltageV: 11 };
    const learnt = chargeFromVoltage({ ...reading, resistanceOhm: 0.5 });
    const atRest = chargeFromVoltage({ ...nmc, currentA: 0, voltageV: 12 });
    expect(learnt.ratio).toBeCloseTo(atRest.ratio, 9);
  });

  it('is less sure under load than at rest, and unsure when the current is not known', () => {
    const width = (over: object): number => {
      const read = chargeFromVoltage({ ...nmc, voltageV: 11.4, ...over });
      return read.highRatio - read.lowRatio;
    };
    const restWidth = width({ currentA: 0 });
    expect(width({})).toBeGreaterThan(restWidth);
    expect(width({ currentA: -4, ratedWh: 100 })).toBeGreaterThan(restWidth);
  });

  it('widens with the doubt about the resistance, where the curve is flat', () => {
    // Flat stretch of the pouch cell: half of a drop of 0.1 V per cell is 0.05 V, a sixth of the scale at 0.3 V per unit.
    const pouch = { chemistry: 'li-ion-lco', seriesCells: 1, ratedWh: 9.25 } as const;
    const currentA = -2.1; // 2.5 Ah, 48 mΩ: a drop of 0.1 V
    const read = chargeFromVoltage({ ...pouch, voltageV: 3.66, currentA });
    expect(read.ratio).toBeCloseTo(0.4, 1);
    expect(read.highRatio - read.lowRatio).toBeGreaterThan(0.3);
  });

  it('trusts lead–acid least while it is being charged', () => {
    const read = (currentA: number) =>
      chargeFromVoltage({
        chemistry: 'lead-acid-flooded',
        seriesCells: 6,
        voltageV: 12.4,
        currentA,
        ratedWh: 84,
      });
    const width = (currentA: number): number => read(currentA).highRatio - read(currentA).lowRatio;
    expect(width(1)).toBeGreaterThan(width(-1));
  });

  it('says nothing it does not know when no such pack shows that voltage', () => {
    for (const voltageV of [0, 4, 60, -1]) {
      expect(chargeFromVoltage({ ...nmc, voltageV })).toMatchObject({ lowRatio: 0, highRatio: 1 });
    }
  });

  it('reads both ends of the scale as 0 and 1 in every chemistry, inside an ordered band', () => {
    for (const chemistry of batteryChemistries) {
      const { ocvPoints } = batteryOf(chemistry);
      for (const [index, expected] of [
        [0, 0],
        [ocvPoints.length - 1, 1],
      ] as const) {
        const read = chargeFromVoltage({
          chemistry,
          seriesCells: 1,
          voltageV: ocvPoints[index]![1],
          currentA: 0,
        });
        expect(read.ratio).toBe(expected);
        expect(read.lowRatio).toBeLessThanOrEqual(read.ratio);
        expect(read.highRatio).toBeGreaterThanOrEqual(read.ratio);
      }
    }
  });

  it('refuses a reading that is no number and a pack without cells', () => {
    expect(() => chargeFromVoltage({ ...nmc, voltageV: NaN })).toThrow(EnergyInputError);
    expect(() => chargeFromVoltage({ ...nmc, seriesCells: 0, voltageV: 11 })).toThrow(
      EnergyInputError,
    );
  });
});

describe('packResistanceOhm', () => {
  // Common practice, no source: a 2.6 Ah round cell has some 45 mΩ; the Arrhenius law at 20 kJ/mol doubles it near 0 °C.
  it('is that of a usual cell, and about twice it at freezing', () => {
    const facts = batteryOf('li-ion-nmc');
    const warm = packResistanceOhm({ facts, seriesCells: 1, ratedWh: 3.6 * 2.6 });
    const cold = packResistanceOhm({ facts, seriesCells: 1, ratedWh: 3.6 * 2.6, batteryC: 0 });
    expect(warm).toBeCloseTo(0.046, 3);
    expect(cold / warm).toBeGreaterThan(1.9);
    expect(cold / warm).toBeLessThan(2.2);
  });
});
