import { describe, expect, it } from 'vitest';
import { snowLying } from './snow-lying.ts';

const at = (air: number, hours: number) => Array.from({ length: hours }, () => air);

// Worked by hand from 4 mm a day and kelvin, the middle of the handbooks' degree-day factors (2 to 6, from memory).
describe('snow that may lie on a panel', () => {
  it('gathers while it falls in the cold, and stays while it is cold', () => {
    const lying = snowLying(at(-3, 6), [1, 1, 0, 0, 0, 0]);
    expect(lying).toEqual([1, 2, 2, 2, 2, 2]);
  });

  it('melts by its degree-days: 2 mm in twelve hours at 1 °C, 4 mm in six hours at 4 °C', () => {
    const fell = [...at(-3, 4), ...at(1, 12)];
    expect(snowLying(fell, [1, 1, 1, 1, ...at(0, 12)]).at(-1)).toBeCloseTo(2, 9);
    const warm = [...at(-3, 5), ...at(4, 6)];
    expect(snowLying(warm, [1, 1, 1, 1, 1, ...at(0, 6)]).at(-1)).toBeCloseTo(1, 9);
  });

  it('is none of rain before the frost, and is taken off by rain', () => {
    expect(snowLying([4, 4, -4, -4], [2, 2, 0, 0])).toEqual([0, 0, 0, 0]);
    expect(snowLying([-2, 1.2, -2], [1, 3, 0]).at(-1)).toBe(0);
  });

  it('is not known without air or rain, and goes on over a gap', () => {
    expect(snowLying([-2, null, -2], [1, 0, 0])).toEqual([1, null, 1]);
    expect(snowLying([-2, -2], [null, null])).toEqual([null, null]);
  });

  it('is forgotten five days after the last fall', () => {
    const lying = snowLying(at(-5, 130), [2, ...at(0, 129)]);
    expect(lying[119]).toBe(2);
    expect(lying[125]).toBe(0);
  });
});
