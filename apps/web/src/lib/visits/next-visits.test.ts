import { describe, expect, it } from 'vitest';
import { visitFixture } from './fixtures.ts';
import { nextVisits, visitsBySite } from './next-visits.ts';

const nowMs = Date.parse('2026-11-25T07:00:00Z');

describe('whom a site expects next', () => {
  it('is not hidden by a visit whose time is over, of which nobody has said anything', () => {
    const visits = [
      visitFixture({ id: 'never-begun', plannedAt: '2026-11-23T09:00:00Z' }),
      visitFixture({ id: 'next' }),
    ];
    const there = visitsBySite(visits, nowMs).get('high-cairn');
    expect([there?.next?.id, there?.untold.map(({ id }) => id)]).toEqual(['next', ['never-begun']]);
    expect(nextVisits(visits, nowMs).get('high-cairn')?.id).toBe('next');
  });

  it('is the first that is planned, not one that is done, called off or long forgotten', () => {
    const next = nextVisits(
      [
        visitFixture({ id: 'later', plannedAt: '2026-11-28T09:00:00Z' }),
        visitFixture({ id: 'next' }),
        visitFixture({ id: 'done', state: 'done', plannedAt: '2026-11-25T09:00:00Z' }),
        visitFixture({ id: 'off', state: 'called-off', plannedAt: '2026-11-25T10:00:00Z' }),
        visitFixture({ id: 'forgotten', plannedAt: '2026-11-10T09:00:00Z' }),
        visitFixture({ id: 'other', siteId: 'ash-fell', plannedAt: '2026-11-25T08:00:00Z' }),
      ],
      nowMs,
    );
    expect([...next].map(([siteId, { id }]) => [siteId, id]).sort()).toEqual([
      ['ash-fell', 'other'],
      ['high-cairn', 'next'],
    ]);
  });

  it('is who is out there now before anybody who means to go', () => {
    const next = nextVisits(
      [
        visitFixture({ id: 'planned', plannedAt: '2026-11-25T06:00:00Z' }),
        visitFixture({ id: 'out', state: 'under-way', plannedAt: '2026-11-25T06:30:00Z' }),
      ],
      nowMs,
    );
    expect(next.get('high-cairn')?.id).toBe('out');
  });
});
