import { describe, expect, it } from 'vitest';
import { sayAtLeast } from './say-at-least.ts';
import { sayPercentAgainst } from './say-percent-against.ts';

describe('a figure beside the one that was wished', () => {
  it('has the digits that show which is greater', () => {
    expect(sayPercentAgainst(0.976, 0.98)).toBe('97.6 %');
    expect(sayPercentAgainst(0.9796, 0.98)).toBe('97.96 %');
    expect(sayPercentAgainst(0.981, 0.98)).toBe('98 %');
    expect(sayPercentAgainst(0.98, 0.98)).toBe('98 %');
    expect(sayPercentAgainst(0.88, 0.98)).toBe('88 %');
    expect(sayPercentAgainst(0.9946, 0.995)).toBe('99.46 %');
    expect(sayPercentAgainst(1, 0.999)).toBe('100 %');
  });

  it('is rounded up where it is the least that would do', () => {
    expect(sayAtLeast(80.2, 'W')).toBe('81 W');
    expect(sayAtLeast(80, 'W')).toBe('80 W');
    expect(sayAtLeast(3.14, 'W')).toBe('3.2 W');
  });
});
