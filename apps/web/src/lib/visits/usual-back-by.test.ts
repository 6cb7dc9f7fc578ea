import { describe, expect, it } from 'vitest';
import { usualBackBy } from './usual-back-by.ts';

const at = (clock: string, day = '27'): number => Date.parse(`2026-11-${day}T${clock}:00Z`);

// By hand: four hours, and half an hour before dark (common practice, no source) where that leaves an hour.
describe('a time to be back by', () => {
  it('is four hours after setting out as planned, or after now', () => {
    expect(usualBackBy(at('09:00'), at('08:30'), at('15:52'))).toBe(at('13:00'));
    expect(usualBackBy(at('09:00'), at('10:00'), at('15:52'))).toBe(at('14:00'));
  });

  it('is half an hour before dark, unless it is all but dark', () => {
    expect(usualBackBy(at('13:00'), at('13:00'), at('15:52'))).toBe(at('15:20'));
    expect(usualBackBy(at('15:30'), at('15:30'), at('15:52'))).toBe(at('19:30'));
    // Forty minutes to a quarter past three are no trip.
    expect(usualBackBy(at('14:40'), at('14:40'), at('15:52'))).toBe(at('18:40'));
  });

  it('is none while the trip is far off', () => {
    expect(usualBackBy(at('09:00', '28'), at('07:16'), at('15:52'))).toBeUndefined();
  });
});
