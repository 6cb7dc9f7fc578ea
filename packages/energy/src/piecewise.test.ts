import { expect, it } from 'vitest';
import { interpolate, interpolateInverse } from './piecewise.ts';

const curve = [
  [0, 10],
  [1, 20],
  [3, 60],
] as const;

it('runs straight between the points and level outside them', () => {
  expect([-1, 0, 0.5, 1, 2, 3, 9].map((x) => interpolate(curve, x))).toEqual([
    10, 10, 15, 20, 40, 60, 60,
  ]);
});

it('is undone by its inverse', () => {
  expect([5, 10, 15, 20, 40, 60, 99].map((y) => interpolateInverse(curve, y))).toEqual([
    0, 0, 0.5, 1, 2, 3, 3,
  ]);
});
