import { HOUR_MS } from '@duskline/domain';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { stepBatteryTruth, type BatteryDemand } from './battery-truth.ts';

const empty = { harvestWh: 0, servedWh: 0, lostWh: 0 };
const demand = (over: Partial<BatteryDemand> = {}): BatteryDemand => ({
  capacityWh: 200,
  chemistry: 'lifepo4',
  batteryC: 15,
  offeredW: 0,
  wantedW: 1,
  durationMs: HOUR_MS / 4,
  ...over,
});

describe('the battery of a pretend node', () => {
  it('makes and loses no energy: what comes in is served, lost or stored', () => {
    fc.assert(
      fc.property(
        fc.record({
          charge: fc.double({ min: 0, max: 1, noNaN: true }),
          batteryC: fc.double({ min: -25, max: 45, noNaN: true }),
          offeredW: fc.double({ min: 0, max: 100, noNaN: true }),
          wantedW: fc.double({ min: 0, max: 30, noNaN: true }),
          durationMs: fc.integer({ min: 1, max: HOUR_MS / 4 }),
          chemistry: fc.constantFrom('lifepo4', 'li-ion-nmc', 'lead-acid-agm'),
        }),
        ({ charge, ...over }) => {
          const storedWh = 200 * charge;
          const { after } = stepBatteryTruth({ storedWh, book: empty }, demand(over));
          const { harvestWh, servedWh, lostWh } = after.book;
          expect(harvestWh - servedWh - lostWh).toBeCloseTo(after.storedWh - storedWh, 6);
          expect(after.storedWh).toBeGreaterThanOrEqual(0);
          expect(after.storedWh).toBeLessThanOrEqual(200);
          expect(lostWh).toBeGreaterThanOrEqual(-1e-9);
        },
      ),
    );
  });

  // Makers' instructions for lithium cells: no charge below 0 °C (common practice, no source).
  it('takes no charge below freezing when it is lithium; the panel still carries the load', () => {
    const cold = demand({ batteryC: -1, offeredW: 50 });
    const flow = stepBatteryTruth({ storedWh: 100, book: empty }, cold);
    expect(flow.stage).toBe('blocked');
    expect(flow.netW).toBe(0);
    expect(flow.servedW).toBe(1);
    const lead = stepBatteryTruth(
      { storedWh: 100, book: empty },
      { ...cold, chemistry: 'lead-acid-agm' },
    );
    expect(lead.netW).toBeGreaterThan(0);
  });

  it('tapers towards full and gives nothing when it is empty', () => {
    const at = (storedWh: number) =>
      stepBatteryTruth({ storedWh, book: empty }, demand({ offeredW: 80 }));
    expect(at(100).stage).toBe('bulk');
    expect(at(195).stage).toBe('taper');
    expect(at(195).netW).toBeLessThan(at(100).netW);
    expect(at(200).stage).toBe('float');
    expect(stepBatteryTruth({ storedWh: 0, book: empty }, demand()).servedW).toBe(0);
  });

  it('gives less in the cold for the same charge', () => {
    const left = (batteryC: number) =>
      stepBatteryTruth({ storedWh: 100, book: empty }, demand({ batteryC })).after.storedWh;
    expect(left(-10)).toBeLessThan(left(20));
  });
});
