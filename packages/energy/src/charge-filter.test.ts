import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { batteryOf } from './batteries/battery-of.ts';
import {
  anchorFull,
  correctByGauge,
  correctCharge,
  countCharge,
  countedCharge,
  UNKNOWN_CHARGE,
} from './charge-filter.ts';
import { voltageFromCharge } from './voltage-from-charge.ts';

const nmc = { chemistry: 'li-ion-nmc', facts: batteryOf('li-ion-nmc'), seriesCells: 3 } as const;
const lfp = { chemistry: 'lifepo4', facts: batteryOf('lifepo4'), seriesCells: 4 } as const;
const agm = {
  chemistry: 'lead-acid-agm',
  facts: batteryOf('lead-acid-agm'),
  seriesCells: 6,
} as const;

describe('counting', () => {
  it('adds what flowed: 2 A for 3 h out of 12 Ah are half', () => {
    const after = countCharge(
      { ratio: 0.8, sigma: 0.02 },
      { currentA: -2, hours: 3, capacityAh: 12 },
    );
    expect(after.ratio).toBeCloseTo(0.3, 12);
    // By hand: 0.005 A · 3 h / 12 Ah of offset, a tenth of the half for the nameplate.
    expect(after.sigma).toBeCloseTo(0.02 + 0.00125 + 0.05, 12);
  });

  it('keeps of what is put in what the cells keep, and takes out what is taken out', () => {
    const step = { hours: 1, capacityAh: 10, chargeYield: 0.8 };
    expect(countCharge({ ratio: 0.5, sigma: 0 }, { ...step, currentA: 1 }).ratio).toBeCloseTo(0.58);
    expect(countCharge({ ratio: 0.5, sigma: 0 }, { ...step, currentA: -1 }).ratio).toBeCloseTo(0.4);
  });

  it('drifts until it knows nothing, and no further', () => {
    let filter = anchorFull();
    for (let day = 0; day < 400; day += 1) {
      filter = countCharge(filter, { currentA: 0, hours: 24, capacityAh: 10 });
    }
    expect(filter).toEqual({ ratio: 1, sigma: UNKNOWN_CHARGE.sigma });
  });
});

describe('correcting by voltage', () => {
  it('takes Kalman’s share over: by hand, 0.2² / (0.2² + R²)', () => {
    const { facts } = nmc;
    const restV = voltageFromCharge({ ...nmc, chargeRatio: 0.6 });
    const { filter, gain } = correctCharge(
      { ratio: 0.4, sigma: 0.2 },
      { ...nmc, voltageV: restV, currentA: 0 },
    );
    // Slope about 0.87 V per unit around 0.6: R is ruled by the spread of makes, 0.04 … 0.08.
    expect(facts.voltageBandRatio).toBe(0.05);
    expect(gain).toBeGreaterThan(0.2 ** 2 / (0.2 ** 2 + 0.08 ** 2));
    expect(gain).toBeLessThan(0.2 ** 2 / (0.2 ** 2 + 0.039 ** 2));
    expect(filter.ratio).toBeCloseTo(0.4 + gain * 0.2, 9);
    expect(filter.sigma).toBeCloseTo(0.2 * Math.sqrt(1 - gain), 9);
  });

  it('leaves the charge alone on the plateau of iron phosphate, and corrects at its knees', () => {
    const before = { ratio: 0.4, sigma: 0.1 };
    const flat = correctCharge(before, { ...lfp, voltageV: 13.2, currentA: 0 });
    expect(flat).toEqual({ filter: before, gain: 0, ignored: 'plateau' });
    const low = correctCharge(before, { ...lfp, voltageV: 12.4, currentA: 0 });
    expect(low.gain).toBeGreaterThan(0.3);
    expect(low.filter.ratio).toBeLessThan(0.35);
  });

  it('does not believe lead–acid while it charges', () => {
    const before = { ratio: 0.5, sigma: 0.2 };
    expect(correctCharge(before, { ...agm, voltageV: 13.6, currentA: 1 })).toMatchObject({
      gain: 0,
      ignored: 'surface-charge',
    });
    expect(correctCharge(before, { ...agm, voltageV: 12.7, currentA: 0 }).gain).toBeGreaterThan(
      0.5,
    );
  });

  it('does not believe a voltage this battery cannot have', () => {
    const before = { ratio: 0.5, sigma: 0.2 };
    expect(correctCharge(before, { ...nmc, voltageV: 3.9, currentA: 0 })).toEqual({
      filter: before,
      gain: 0,
      ignored: 'not-this-battery',
    });
  });

  it('is never surer than the curve however often it is read', () => {
    let filter = UNKNOWN_CHARGE;
    const voltageV = voltageFromCharge({ ...nmc, chargeRatio: 0.5 });
    for (let read = 0; read < 1000; read += 1) {
      filter = correctCharge(filter, { ...nmc, voltageV, currentA: 0 }).filter;
    }
    expect(filter.ratio).toBeCloseTo(0.5, 2);
    expect(filter.sigma).toBeCloseTo(0.05 / 1.2816, 6);
  });

  it('keeps any estimate within its scale, its band around it, and never less sure for a reading', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0, max: 1, noNaN: true }),
        fc.double({ min: 0, max: 0.29, noNaN: true }),
        fc.double({ min: 9, max: 15, noNaN: true }),
        fc.constantFrom(nmc, lfp, agm),
        (ratio, sigma, voltageV, battery) => {
          const { filter } = correctCharge({ ratio, sigma }, { ...battery, voltageV, currentA: 0 });
          const shown = countedCharge(filter);
          expect(filter.sigma).toBeLessThanOrEqual(sigma + 1e-12);
          expect(shown.lowRatio).toBeGreaterThanOrEqual(0);
          expect(shown.lowRatio).toBeLessThanOrEqual(shown.ratio);
          expect(shown.highRatio).toBeGreaterThanOrEqual(shown.ratio);
          expect(shown.highRatio).toBeLessThanOrEqual(1);
        },
      ),
      { seed: 20261126, numRuns: 500 },
    );
  });

  it('weighs the node’s own gauge at five points', () => {
    const { filter, gain } = correctByGauge({ ratio: 0.5, sigma: 0.05 }, 0.7);
    expect(gain).toBeCloseTo(0.5, 12);
    expect(filter.ratio).toBeCloseTo(0.6, 12);
    expect(filter.sigma).toBe(0.05);
  });
});
