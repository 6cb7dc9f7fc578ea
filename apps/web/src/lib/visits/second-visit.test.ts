import { describe, expect, it } from 'vitest';
import { visitFixture } from './fixtures.ts';
import { secondVisit } from './second-visit.ts';

const nowMs = Date.parse('2026-11-25T07:00:00Z');
const goer = { id: 'p1', name: 'Ash Harrow', isOneself: true };
const said = (
  visits: Parameters<typeof visitFixture>[0][],
  at = '2026-11-27T09:00:00Z',
  who = goer,
) => secondVisit(visits.map(visitFixture), { goer: who, atMs: Date.parse(at), nowMs });

describe('a second visit of one site', () => {
  it('is warned of while the same person means to go there, by the id or where there is none by the name', () => {
    const warning =
      'Ash Harrow has a visit here planned already, for Thu 26 Nov 09:00 UTC. Move that one, or plan a second all the same.';
    expect(said([{}])).toBe(warning);
    expect(said([{}], undefined, { ...goer, id: '' })).toBe(warning);
    expect(said([{ state: 'under-way' }])).toBe(warning);
  });

  it('is warned of on the day on which the same person was there', () => {
    const done = { state: 'done', backAt: '2026-11-25T12:00:00Z' } as const;
    expect(said([done], '2026-11-25T16:00:00Z')).toBe(
      'Ash Harrow was here that day, back Wed 25 Nov 12:00 UTC. Add to that report, or plan a second visit all the same.',
    );
    expect(said([done])).toBe('');
  });

  it('is told of where somebody else goes, and not of what is over', () => {
    expect(said([{ personId: 'p2', person: 'Ines Tarn' }])).toBe(
      'Ines Tarn means to go there already, Thu 26 Nov 09:00 UTC.',
    );
    expect(said([{ state: 'called-off' }, { plannedAt: '2026-11-20T09:00:00Z' }])).toBe('');
  });
});
