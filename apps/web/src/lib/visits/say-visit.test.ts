import { describe, expect, it } from 'vitest';
import { visitFixture } from './fixtures.ts';
import { sayVisit, sayVisitShortly } from './say-visit.ts';

const nowMs = Date.parse('2026-11-25T07:00:00Z');

describe('a visit that is to come', () => {
  it('is said with its day, its zone and who goes', () => {
    expect(sayVisit(visitFixture())).toBe('planned for Thu 26 Nov 09:00 UTC by Ash Harrow');
    expect(sayVisitShortly(visitFixture(), nowMs)).toBe('visit tomorrow');
  });

  it('is under way once somebody has set out', () => {
    const out = visitFixture({ state: 'under-way', backBy: '2026-11-26T14:00:00Z' });
    expect(sayVisit(out)).toBe('under way: Ash Harrow, to be back by Thu 26 Nov 14:00 UTC');
    expect(sayVisitShortly(out, nowMs)).toBe('visit under way');
  });
});
