import { describe, expect, it } from 'vitest';
import { convertUnit, isUnit, unitsLike } from './units.ts';

/**
 * RFC 8798, June 2020, section 3, table 2: [secondary unit, scale, offset, primary unit]. Compared with the last draft before the
 * RFC (13 February 2020); rows marked * are from memory of the RFC and the IANA registry.
 */
const table: readonly (readonly [string, number, number, string])[] = [
  ['ms', 1 / 1000, 0, 's'],
  ['min', 60, 0, 's'],
  ['h', 3600, 0, 's'],
  ['MHz', 1_000_000, 0, 'Hz'], // *
  ['kW', 1000, 0, 'W'],
  ['kVA', 1000, 0, 'VA'],
  ['kvar', 1000, 0, 'var'],
  ['Ah', 3600, 0, 'C'],
  ['Wh', 3600, 0, 'J'],
  ['kWh', 3_600_000, 0, 'J'],
  ['varh', 3600, 0, 'vars'],
  ['kvarh', 3_600_000, 0, 'vars'],
  ['kVAh', 3_600_000, 0, 'VAs'],
  ['Wh/km', 3.6, 0, 'J/m'],
  ['KiB', 1024, 0, 'B'],
  ['GB', 1e9, 0, 'B'],
  ['Mbit/s', 1_000_000, 0, 'bit/s'],
  ['B/s', 8, 0, 'bit/s'], // *
  ['MB/s', 8_000_000, 0, 'bit/s'],
  ['mV', 1 / 1000, 0, 'V'],
  ['mA', 1 / 1000, 0, 'A'],
  ['dBm', 1, -30, 'dBW'],
  ['ug/m3', 1e-9, 0, 'kg/m3'],
  ['mm/h', 1 / 3_600_000, 0, 'm/s'],
  ['m/h', 1 / 3600, 0, 'm/s'],
  ['ppm', 1e-6, 0, '/'],
  ['ppb', 1e-9, 0, '/'], // *
  ['/100', 1 / 100, 0, '/'],
  ['/1000', 1 / 1000, 0, '/'],
  ['hPa', 100, 0, 'Pa'],
  ['mm', 1 / 1000, 0, 'm'],
  ['cm', 1 / 100, 0, 'm'],
  ['km', 1000, 0, 'm'],
  ['km/h', 1 / 3.6, 0, 'm/s'],
];

describe('units', () => {
  it.each(table)('reads %s as value · %d + %d %s', (unit, scale, offset, primary) => {
    expect(convertUnit(7, unit, primary)).toBeCloseTo(7 * scale + offset, 15);
    expect(convertUnit(7 * scale + offset, primary, unit)).toBeCloseTo(7, 9);
  });

  it('works out the two examples of RFC 8798 §3', () => {
    expect(convertUnit(100, 'ms', 's')).toBe(0.1);
    expect(convertUnit(10, 'dBm', 'dBW')).toBe(-20);
  });

  it('adds no digits that were not there', () => {
    expect(convertUnit(3700, 'mV', 'V')).toBe(3.7);
    expect(convertUnit(12_610, 'mV', 'V')).toBe(12.61);
    expect(convertUnit(101_325, 'Pa', 'hPa')).toBe(1013.25);
    expect(convertUnit(0.34, '/', '/100')).toBe(34);
    expect(convertUnit(2.5, 'kWh', 'Wh')).toBe(2500);
  });

  it('leaves a value in the wanted unit untouched', () => {
    expect(convertUnit(0.1 + 0.2, 'Wh', 'Wh')).toBe(0.1 + 0.2);
  });

  it('knows kelvin from Celsius (0 °C = 273.15 K, SI brochure §2.3.1, from memory)', () => {
    expect(convertUnit(273.15, 'K', 'Cel')).toBe(0);
    expect(convertUnit(-40, 'Cel', 'K')).toBeCloseTo(233.15, 10);
  });

  it('turns radians into degrees', () => {
    expect(convertUnit(Math.PI, 'rad', 'deg')).toBeCloseTo(180, 12);
  });

  it('takes % for a ratio (RFC 8428 §12.1), and never for %EL or %RH', () => {
    expect(convertUnit(0.5, '%', '/')).toBe(0.5);
    expect(convertUnit(50, '%', '%EL')).toBeUndefined();
    expect(convertUnit(50, '%', '%RH')).toBeUndefined();
    expect(convertUnit(50, '%RH', '%EL')).toBeUndefined();
  });

  it('does not convert between quantities or from units it does not know', () => {
    expect(convertUnit(1, 'V', 'A')).toBeUndefined();
    expect(convertUnit(1, 'volt', 'V')).toBeUndefined();
    expect(convertUnit(1, 'constructor', 'V')).toBeUndefined();
    expect(isUnit('__proto__')).toBe(false);
  });

  it('names other units of the same quantity', () => {
    expect(unitsLike('V')).toEqual(['mV']);
    expect(unitsLike('%EL')).toEqual([]);
  });
});
