import type { CustomBatteryInput } from './check-custom-battery.ts';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { batteryPackOf } from '../battery-pack.ts';
import { chargeFromVoltage } from '../charge-from-voltage.ts';
import { stepBattery } from '../step-battery.ts';
import { voltageFromCharge } from '../voltage-from-charge.ts';
import { batteryOf } from './battery-of.ts';
import { batteryFactsOf, customBatteryOf } from './custom-battery.ts';

/** Five cells whose makers allow charging from 5 to 50 °C. Invented. */
const bench: CustomBatteryInput = {
  name: ' Bench pack ',
  like: 'li-ion-nmc',
  seriesCells: 5,
  ratedAh: 10,
  voltagePoints: [
    [0, 15],
    [0.5, 18],
    [1, 21],
  ],
  chargeC: [5, 50],
  dischargeC: [-10, 55],
  restResistanceOhm: 0.2,
};

function made(input: CustomBatteryInput) {
  const battery = customBatteryOf(input);
  if (!battery.ok) throw new Error(JSON.stringify(battery.fault));
  return battery.value;
}
function faults(over: Partial<CustomBatteryInput>) {
  const { ratedAh, ...rest } = bench;
  const battery = customBatteryOf({
    ...rest,
    ...(over.ratedWh === undefined && ratedAh !== undefined && { ratedAh }),
    ...over,
  });
  return battery.ok ? [] : battery.fault;
}

describe('a builder’s own battery', () => {
  it('turns Ah into Wh by the mean of its curve: 10 Ah at 18 V', () => {
    expect(made(bench)).toMatchObject({
      chemistry: 'li-ion-nmc',
      ratedWh: 180,
      custom: { name: 'Bench pack' },
    });
  });

  it('reads its own curve, at rest and with a current through its own resistance', () => {
    const battery = made(bench);
    const facts = batteryFactsOf(battery);
    const reading = { ...battery, facts };
    expect(chargeFromVoltage({ ...reading, voltageV: 19.5, currentA: 0 }).ratio).toBeCloseTo(
      0.75,
      9,
    );
    // By hand: 1 A through 0.2 Ω pulls 0.2 V off 19.5 V.
    expect(chargeFromVoltage({ ...reading, voltageV: 19.3, currentA: -1 }).ratio).toBeCloseTo(
      0.75,
      9,
    );
    expect(voltageFromCharge({ ...reading, chargeRatio: 0.75, currentA: -1 })).toBeCloseTo(19.3, 9);
  });

  it('charges between its own temperatures', () => {
    const battery = made(bench);
    const pack = batteryPackOf({
      panel: { ratedW: 20, tiltDeg: 60, azimuthDeg: 180 },
      battery,
      charger: 'mppt',
      shutDownRatio: 0.1,
      restartRatio: 0.5,
      offStateDrawW: 0,
      usualGapS: 60,
    });
    const blockedAt = (batteryC: number): string | undefined =>
      stepBattery({ chargeRatio: 0.5, dark: false }, { pack, harvestW: 5, loadW: 0, batteryC })
        .blockedBy;
    expect([4.9, 5, 50, 50.1].map(blockedAt)).toEqual(['cold', undefined, undefined, 'heat']);
  });

  it('finds its own plateau and knows that voltage says little there', () => {
    const flat = made({
      ...bench,
      seriesCells: 4,
      like: 'lifepo4',
      chargeC: [0, 45],
      voltagePoints: [
        [0, 10.4],
        [0.1, 12.8],
        [0.9, 13.3],
        [1, 13.8],
      ],
    });
    const facts = batteryFactsOf(flat);
    expect(facts.plateau).toMatchObject({ fromRatio: 0.1, toRatio: 0.9 });
    const read = chargeFromVoltage({ ...flat, facts, voltageV: 13.05, currentA: 0 });
    expect(read.highRatio - read.lowRatio).toBeGreaterThanOrEqual(0.6 - 1e-9);
    expect(batteryFactsOf(made(bench)).plateau).toBeUndefined();
  });

  it('is the chemistry itself where there is none of one’s own', () => {
    expect(batteryFactsOf({ chemistry: 'nimh', ratedWh: 5, seriesCells: 4 })).toBe(
      batteryOf('nimh'),
    );
  });

  it.each([
    [{ name: ' ' }, 'name', /label/],
    [{ seriesCells: 2.5 }, 'seriesCells', /whole number/],
    [{ ratedWh: 100, ratedAh: 5 }, 'ratedAh', /exactly one/],
    [{ ratedAh: -1 }, 'ratedAh', /above zero/],
    [{ voltagePoints: [[0, 15] as const] }, 'voltagePoints', /at least empty/],
    [
      {
        voltagePoints: [
          [0, 15],
          [50, 18],
          [1, 21],
        ] as const,
      },
      'voltagePoints[1]',
      /50 % is 0.5/,
    ],
    [
      {
        voltagePoints: [
          [0, 15],
          [0.5, 14],
          [1, 21],
        ] as const,
      },
      'voltagePoints[1]',
      /must rise with charge/,
    ],
    [
      {
        voltagePoints: [
          [0, 3],
          [1, 4.2],
        ] as const,
        seriesCells: 10,
      },
      'voltagePoints[0]',
      /number of cells/,
    ],
    [
      {
        voltagePoints: [
          [0.3, 16],
          [1, 21],
        ] as const,
      },
      'voltagePoints',
      /when empty/,
    ],
    [{ chargeC: [45, 0] as const }, 'chargeC', /lowest first/],
    [{ chargeC: [-10, 45] as const }, 'chargeC', /allows less in writing/],
    [{ restResistanceOhm: -0.1 }, 'restResistanceOhm', /drop in V/],
  ])('says what is wrong with %j, where, and how to mend it', (over, where, mend) => {
    const found = faults(over);
    expect(found.map((fault) => fault.where)).toContain(where);
    expect(found.find((fault) => fault.where === where)!.mend).toMatch(mend);
    expect(found.every((fault) => fault.what.length > 10)).toBe(true);
  });

  it('is let charge below freezing only where its maker says so, or where it is no lithium', () => {
    expect(faults({ chargeC: [-10, 45], makerAllowsFreezingCharge: true })).toEqual([]);
    expect(faults({ chargeC: [-10, 45], like: 'nimh' })).toEqual([]);
  });
});

describe('every battery', () => {
  const chemistries = [
    'li-ion-nmc',
    'li-ion-lco',
    'lifepo4',
    'lead-acid-flooded',
    'lead-acid-agm',
    'nimh',
  ] as const;

  it('holds no more charge for a lower voltage', () => {
    fc.assert(
      fc.property(
        fc.constantFrom(...chemistries),
        fc.double({ min: 0.8, max: 4.4, noNaN: true }),
        fc.double({ min: 0, max: 0.5, noNaN: true }),
        (chemistry, cellV, more) => {
          const read = (voltageV: number) =>
            chargeFromVoltage({ chemistry, seriesCells: 1, voltageV, currentA: 0 }).ratio;
          expect(read(cellV + more)).toBeGreaterThanOrEqual(read(cellV));
        },
      ),
      { seed: 20261126, numRuns: 500 },
    );
  });

  it('keeps between a third and somewhat more of its capacity at any temperature, more when warmer up to 20 °C', () => {
    fc.assert(
      fc.property(
        fc.constantFrom(...chemistries),
        fc.double({ min: -60, max: 20, noNaN: true }),
        fc.double({ min: 0, max: 40, noNaN: true }),
        (chemistry, batteryC, warmer) => {
          const { capacityFactorAt } = batteryOf(chemistry);
          for (const factor of [capacityFactorAt(batteryC), capacityFactorAt(batteryC + warmer)]) {
            expect(factor).toBeGreaterThan(0.33);
            expect(factor).toBeLessThanOrEqual(1.05);
          }
          const warmC = Math.min(20, batteryC + warmer);
          expect(capacityFactorAt(warmC)).toBeGreaterThanOrEqual(capacityFactorAt(batteryC));
        },
      ),
      { seed: 20261126, numRuns: 500 },
    );
  });
});
