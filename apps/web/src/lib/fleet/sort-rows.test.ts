import { describe, expect, it } from 'vitest';
import { isShown } from './filter-rows.ts';
import { alertFixture, outlookFixture, rowFixture } from './fixtures.ts';
import { parseFleetQuery } from './fleet-query.ts';
import { keepOrder, orderDiffers } from './keep-order.ts';
import { sortRows } from './sort-rows.ts';

const empties = (p10Days: number) =>
  outlookFixture({ kind: 'empties-in', p10Days, p50Days: p10Days + 1 });
const fleet = [
  rowFixture({ id: 'calm', name: 'Calm' }),
  rowFixture({ id: 'dark', name: 'Dark', state: 'dark-as-designed', chargeRatio: 0.08 }),
  rowFixture({ id: 'later', name: 'Later', outlook: empties(9), chargeRatio: 0.4 }),
  rowFixture({
    id: 'low',
    name: 'Low',
    state: 'low',
    alerts: [alertFixture()],
    outlook: empties(2),
    chargeRatio: 0.15,
  }),
  rowFixture({
    id: 'urgent',
    name: 'Urgent',
    alerts: [alertFixture({ priority: 'P1' })],
    chargeRatio: null,
  }),
  rowFixture({ id: 'silent', name: 'Silent', state: 'silent-unexplained', lastHeardAt: null }),
];
const ids = (query: string): string[] =>
  sortRows(fleet, parseFleetQuery(new URLSearchParams(query))).map((row) => row.site.id);

describe('the order of the rows', () => {
  it('puts who needs someone first, by priority, then what is dark, then who empties sooner', () => {
    expect(ids('')).toEqual(['urgent', 'low', 'silent', 'dark', 'later', 'calm']);
  });

  it('follows the column asked for, the unknown last, and turns round', () => {
    expect(ids('sort=charge')).toEqual(['dark', 'low', 'later', 'calm', 'silent', 'urgent']);
    expect(ids('sort=name')).toEqual(['calm', 'dark', 'later', 'low', 'silent', 'urgent']);
    expect(ids('sort=-name')[0]).toBe('urgent');
    expect(ids('sort=days').slice(0, 2)).toEqual(['low', 'later']);
    expect(ids('sort=heard')[0]).toBe('silent');
  });

  it('shows what state, need and every word of the search allow', () => {
    const shown = (query: string): string[] =>
      fleet
        .filter((row) => isShown(row, parseFleetQuery(new URLSearchParams(query))))
        .map((row) => row.site.id);
    expect(shown('show=low,dark-as-designed')).toEqual(['dark', 'low']);
    expect(shown('show=need-someone')).toEqual(['low', 'urgent', 'silent']);
    expect(shown('q=design dark')).toEqual(['dark']);
    expect(shown('q=DÁRK')).toEqual(['dark']);
    expect(shown('q=nowhere')).toEqual([]);
  });
});

describe('the order under a reader’s eyes', () => {
  it('stays, lets new rows in at the end and gone ones out, and knows when sorting would move something', () => {
    const shown = ['a', 'b', 'c'];
    expect(keepOrder(shown, ['d', 'c', 'a'])).toEqual(['a', 'c', 'd']);
    expect(keepOrder([], ['d', 'c'])).toEqual(['d', 'c']);
    expect(orderDiffers(['a', 'c', 'd'], ['d', 'c', 'a'])).toBe(true);
    expect(orderDiffers(shown, ['a', 'b', 'c'])).toBe(false);
  });
});
