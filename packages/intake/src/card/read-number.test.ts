import { describe, expect, it } from 'vitest';
import { readNumber } from './read-number.ts';

describe('a number in a cell', () => {
  it.each([
    ['12', 12],
    ['+12.5', 12.5],
    ['-0.30', -0.3],
    ['.5', 0.5],
    ['7.', 7],
    ['-0', -0],
    ['123456789012345', 123456789012345],
    ['0.000000000000001', 1e-15],
    ['1234567890.123456789', 1234567890.1234567],
    ['1e3', 1000],
    ['1,234.5', 1234.5],
  ])('%s is read as it stands', (cell, value) => {
    expect(readNumber(cell, '.')).toBe(value);
  });

  it.each(['', '.', '-', '+.', '1.2.3', '1-2', '12 V', '0x1f', '1_000', 'NaN'])(
    '“%s” is none',
    (cell) => {
      expect(readNumber(cell, '.')).toBeUndefined();
    },
  );

  // The outside truth is the conversion of ECMA-262 (StringToNumber), which is exact to the nearest double.
  it('is the nearest double to what is written, with either mark, however many digits there are', () => {
    let state = 20_261_127;
    const chance = (): number => {
      state = (Math.imul(state, 1_664_525) + 1_013_904_223) >>> 0;
      return state / 2 ** 32;
    };
    const digits = (count: number): string =>
      Array.from({ length: count }, () => Math.floor(chance() * 10)).join('');
    let different = 0;
    for (let i = 0; i < 20_000; i += 1) {
      const whole = digits(1 + Math.floor(chance() * 9));
      const part = digits(Math.floor(chance() * 10));
      const sign = ['', '-', '+'][Math.floor(chance() * 3)] ?? '';
      const cell = `${sign}${whole}.${part}`;
      if (!Object.is(readNumber(cell, '.'), Number(cell))) different += 1;
      if (!Object.is(readNumber(cell.replace('.', ','), ','), Number(cell))) different += 1;
    }
    expect(different).toBe(0);
  });
});
