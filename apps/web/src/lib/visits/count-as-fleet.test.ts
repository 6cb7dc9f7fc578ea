import { describe, expect, it } from 'vitest';
import { countAsFleet } from './count-as-fleet.ts';
import { needFixture } from './fixtures.ts';

const nowMs = Date.parse('2026-11-25T07:00:00Z');
const soon = { kind: 'by' as const, at: '2026-11-27T12:00:00Z', because: [] };
const later = { kind: 'by' as const, at: '2026-12-20T12:00:00Z', because: [] };
const both = needFixture({ needsSomeone: true, need: soon });

describe('the two counts of sites that need someone', () => {
  it('are said to be the same where they are', () => {
    expect(countAsFleet([both, needFixture()], nowMs)).toBe(
      'They are the sites that need someone on the fleet page.',
    );
    expect(countAsFleet([needFixture()], nowMs)).toBe('');
  });

  it('differ by what needs no trip within a week, and by what only the outlook asks for', () => {
    const fromHome = needFixture({ siteName: 'Long Moss', needsSomeone: true });
    const notYet = needFixture({ siteName: 'Peat Hag', needsSomeone: true, need: later });
    const early = needFixture({ siteName: 'Tarn Gill', need: soon });
    expect(countAsFleet([both, fromHome, notYet, early], nowMs)).toBe(
      'The fleet page counts Long Moss and Peat Hag as well: they need someone, but no trip within a week. ' +
        'The fleet page does not count Tarn Gill: no alert calls anybody there now (none is open, or it is paused), and the latest safe date stays.',
    );
  });

  it('names a few of many', () => {
    const many = ['A', 'B', 'C', 'D', 'E', 'F'].map((siteName) =>
      needFixture({ siteName, needsSomeone: true }),
    );
    expect(countAsFleet(many, nowMs)).toMatch(/^The fleet page counts A, B, C and 3 more as well/);
  });
});
