import { expect, it } from 'vitest';
import { laggedBatteryC } from './battery-temperature.ts';

it('closes 63 % of the gap to the air in one time constant', () => {
  expect(laggedBatteryC({ batteryC: 20, airC: 0, hours: 4 })).toBeCloseTo(20 / Math.E, 9);
});

it('comes to the same in steps', () => {
  const once = laggedBatteryC({ batteryC: 20, airC: -5, hours: 2 });
  const half = laggedBatteryC({ batteryC: 20, airC: -5, hours: 1 });
  expect(laggedBatteryC({ batteryC: half, airC: -5, hours: 1 })).toBeCloseTo(once, 12);
});

it('stands still in no time', () => {
  expect(laggedBatteryC({ batteryC: 20, airC: 0, hours: 0 })).toBe(20);
});
