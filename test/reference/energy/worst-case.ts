import { expect } from 'vitest';

/** Asserts that no case is further off than the tolerance, that so many cases were compared, and names the worst one if not. */
export function expectAllWithin<Row>(
  cases: readonly Row[],
  errorOf: (row: Row) => number,
  limits: { readonly tolerance: number; readonly count: number },
): void {
  let worst: { readonly row: Row; readonly error: number } | undefined;
  for (const row of cases) {
    const error = Math.abs(errorOf(row));
    // A NaN must fail, not slip through a comparison.
    if (!Number.isFinite(error)) expect.fail(`no number for ${JSON.stringify(row)}`);
    if (worst === undefined || error > worst.error) worst = { row, error };
  }
  expect(cases).toHaveLength(limits.count);
  expect(worst?.error, `worst case ${JSON.stringify(worst?.row)}`).toBeLessThanOrEqual(
    limits.tolerance,
  );
}

/** Difference of two angles on the circle, degrees, 0 … 180. */
export function angleBetweenDeg(aDeg: number, bDeg: number): number {
  return Math.abs(((aDeg - bDeg + 540) % 360) - 180);
}
