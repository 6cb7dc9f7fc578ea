import { describe, expect, it } from 'vitest';
import { fixtureNow, outlookFixture, rowFixture } from './fixtures.ts';
import { groupOf, groupRows } from './group-rows.ts';
import { cutBlocks } from './row-blocks.ts';

const nowMs = Date.parse(fixtureNow);
const stopsIn = (days: number) => outlookFixture({ kind: 'empties-in', p10Days: days });
const rows = [
  rowFixture({ id: 'calm' }),
  rowFixture({ id: 'soon', outlook: stopsIn(2) }),
  rowFixture({ id: 'silent', state: 'silent-unexplained' }),
  rowFixture({ id: 'next-week', outlook: stopsIn(9) }),
  rowFixture({ id: 'soon-too', outlook: stopsIn(6.9) }),
];
const ids = (list: readonly { readonly site: { readonly id: string } }[]) =>
  list.map((row) => row.site.id);

describe('rows by group', () => {
  it('stand in one group without a heading when nobody asked', () => {
    const [only, ...rest] = groupRows(rows, 'none', (row) => groupOf(row.site, 'none', nowMs));
    expect(rest).toEqual([]);
    expect(only?.heading).toBeUndefined();
    expect(ids(only?.rows ?? [])).toEqual(ids(rows));
  });

  it('stand by when they could stop: the dark ones, this week, the week after, later', () => {
    const groups = groupRows(rows, 'when', (row) => groupOf(row.site, 'when', nowMs));
    expect(groups.map((group) => ids(group.rows))).toEqual([
      ['silent'],
      ['soon', 'soon-too'],
      ['next-week'],
      ['calm'],
    ]);
    expect(new Set(groups.map((group) => group.heading)).size).toBe(4);
  });

  it('stay under the heading they had when the order was taken', () => {
    const groups = groupRows(rows, 'state', () => 'up');
    expect(groups.map((group) => [group.heading, group.rows.length])).toEqual([['up', 5]]);
  });
});

describe('blocks of rows', () => {
  const groups = [
    { key: 'a', heading: 'A', rows: rows.slice(0, 3) },
    { key: 'b', heading: 'B', rows: rows.slice(3) },
  ];

  it('hold every row once, in order, and never rows of two groups', () => {
    const blocks = cutBlocks(groups, 2);
    expect(blocks.flatMap((block) => ids(block.rows))).toEqual(ids(rows));
    expect(blocks.map((block) => [block.first, block.heading])).toEqual([
      [0, 'A'],
      [2, undefined],
      [3, 'B'],
    ]);
    expect(new Set(blocks.map((block) => block.key)).size).toBe(3);
  });
});
