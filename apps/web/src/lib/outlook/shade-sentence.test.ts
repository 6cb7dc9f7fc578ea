import { describe, expect, it } from 'vitest';
import { compass, shadeSentence } from './shade-sentence.ts';

const bin = { season: 1, azimuthDeg: 120, lowDeg: 10, highDeg: 22, shadeRatio: 1, hours: 30 };

describe('the shade map in words', () => {
  it('says what is known, what is free and what is shaded most', () => {
    expect(shadeSentence({ bins: [], paths: [] })).toContain('nothing is known');
    expect(shadeSentence({ bins: [bin, { ...bin, azimuthDeg: 135 }], paths: [] })).toBe(
      'No shade was found in the 2 stretches of sky the sun was seen to cross brightly.',
    );
    const shaded = [bin, { ...bin, azimuthDeg: 135, shadeRatio: 0.4 }];
    expect(shadeSentence({ bins: shaded, paths: [] })).toBe(
      'Something stands before the sun in 1 of 2 stretches of its path; the darkest is SE in March and April, ' +
        'where 40\u00a0% of the best hours is left.',
    );
  });

  it('names eight winds', () => {
    expect([0, 44, 90, 202, 359, -45].map(compass)).toEqual(['N', 'NE', 'E', 'S', 'N', 'NW']);
  });
});
