import { describe, expect, it } from 'vitest';
import { awaitedVisits, isPastPlan, type PlannedVisit } from './awaited-visits.ts';

const nowMs = Date.UTC(2026, 10, 27, 17, 46);
const visit = (id: string, plannedAt: string, over: Partial<PlannedVisit> = {}) => ({
  id,
  siteId: 'ash-fell',
  state: 'planned' as const,
  plannedAtMs: Date.parse(plannedAt),
  ...over,
});
const told = (visits: readonly ReturnType<typeof visit>[]) =>
  [...awaitedVisits(visits, (one) => one, nowMs)].map(([siteId, { next, untold }]) => [
    siteId,
    next?.id,
    untold.map(({ id }) => id),
  ]);

describe('whom a site expects', () => {
  it('is who comes, though a visit before it was never begun', () => {
    expect(
      told([
        visit('saturday', '2026-11-28T09:00Z'),
        visit('long-ago', '2026-11-20T09:00Z'),
        visit('two-days-ago', '2026-11-25T09:00Z'),
        visit('sunday', '2026-11-29T09:00Z'),
        visit('done', '2026-11-26T09:00Z', { state: 'done' }),
        visit('elsewhere', '2026-11-24T09:00Z', { siteId: 'tarn-gill' }),
      ]),
    ).toEqual([
      ['ash-fell', 'saturday', ['long-ago', 'two-days-ago']],
      ['tarn-gill', undefined, ['elsewhere']],
    ]);
  });

  it('is who is out there now first, and who is a little late is still awaited', () => {
    expect(
      told([
        visit('late', '2026-11-27T16:30Z'),
        visit('out', '2026-11-27T17:00Z', { state: 'under-way' }),
      ]),
    ).toEqual([['ash-fell', 'out', []]]);
    expect(told([visit('late', '2026-11-27T16:30Z')])).toEqual([['ash-fell', 'late', []]]);
  });

  it('cannot be planned for a time that is over, but for a few minutes', () => {
    expect(isPastPlan(nowMs - 2 * 86_400_000, nowMs)).toBe(true);
    expect(isPastPlan(nowMs - 6 * 60_000, nowMs)).toBe(true);
    expect(isPastPlan(nowMs - 4 * 60_000, nowMs)).toBe(false);
    expect(isPastPlan(nowMs + 1, nowMs)).toBe(false);
    expect(isPastPlan(Number.NaN, nowMs)).toBe(true);
  });
});
