import { describe, expect, it } from 'vitest';
import { sayLimits, saySpan } from './say-limits.ts';

describe('limits in words', () => {
  it('say what was set, in the unit of the metric', () => {
    expect(
      sayLimits('air_temp', {
        failSpan: [-20, 50],
        suspectSpan: [-10, 40.5],
        spike: { suspect: 1.5, fail: 4 },
        rate: { suspectPerS: 0.05, failPerS: 0.1 },
        flatLine: { tolerance: 0.1, suspectS: 7200, failS: 21_600 },
        neighbour: { suspect: 8 },
      }),
    ).toEqual([
      'fails outside −20 to 50\u00a0°C',
      'suspect outside −10 to 40.5\u00a0°C',
      'suspect more than 1.5\u00a0°C from the middle of its neighbours in time, fails more than 4\u00a0°C',
      'suspect when it changes by more than 3\u00a0°C a minute, fails by more than 6\u00a0°C a minute',
      'suspect with less than 0.1\u00a0°C of change in 2\u00a0h, fails after 6\u00a0h',
      'noted more than 8\u00a0°C from its neighbours by day',
    ]);
  });

  it('say what is switched off, and nothing of what is not set', () => {
    expect(sayLimits('batt_v', { spike: null, flatLine: null })).toEqual([
      'jumps are not tested',
      'standing still is not tested',
    ]);
    expect(sayLimits('batt_v', {})).toEqual([]);
  });

  it('say a length as exactly as it was typed', () => {
    expect(
      sayLimits('air_temp', { flatLine: { tolerance: 1, suspectS: 1200, failS: 9000 } }),
    ).toEqual([
      'suspect with less than 1\u00a0°C of change in 20\u00a0min, fails after 2.5\u00a0h',
    ]);
  });

  it('have no unit where the metric has none', () => {
    expect(saySpan('boot', [0, 12])).toBe('0 to 12');
    expect(saySpan('boot', [0, 2_147_483_647])).toBe('0 to 2147483647');
  });
});
