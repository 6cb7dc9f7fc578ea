import { expect, it } from 'vitest';
import { backOffMs } from './back-off.ts';

it('the wait doubles from half a second up to eight seconds, and is never less than half of that', () => {
  expect([1, 2, 3, 4, 5, 6, 60].map((failures) => backOffMs(failures, 0.999_999))).toEqual(
    [500, 1000, 2000, 4000, 8000, 8000, 8000].map((ms) => expect.closeTo(ms, 1)),
  );
  expect(backOffMs(1, 0)).toBe(250);
  expect(backOffMs(60, 0)).toBe(4000);
});
