import { describe, expect, it } from 'vitest';
import { emptyOwnBattery, ownBatteryOf, readCurve } from './own-battery.ts';

describe('the curve of a battery of one’s own', () => {
  it.each([
    ['plain', '0 12.0\n50 13.1\n100 13.6'],
    ['with units', '0 % 12.0 V\n50 % 13.1 V\n100 % 13.6 V'],
    ['from a spreadsheet, with commas', '0;12,0\n\n50;13,1\n100;13,6\n'],
  ])('is read %s', (_how, text) => {
    expect(readCurve(text)).toEqual({
      ok: true,
      points: [
        [0, 12],
        [0.5, 13.1],
        [1, 13.6],
      ],
    });
  });

  it.each([
    ['a line that is no pair', '0 12\nhalf 13\n100 13.6', 2],
    ['a voltage that falls', '0 12\n50 11.9\n100 13.6', 2],
    ['a charge above 100 %', '0 12\n110 13', 2],
    ['one pair only', '0 12', 2],
  ])('is refused at its line: %s', (_what, text, line) => {
    expect(readCurve(text)).toEqual({ ok: false, line });
  });

  it('is never charged below 0 °C unless somebody says so', () => {
    const own = ownBatteryOf({ ...emptyOwnBattery(), name: 'Pack 7', curve: '0 12\n100 13.6' });
    expect(own.chargeC[0]).toBe(0);
    expect(own.makerAllowsFreezingCharge).toBeUndefined();
  });
});
