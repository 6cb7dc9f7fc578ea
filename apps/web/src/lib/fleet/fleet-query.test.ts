import { describe, expect, it } from 'vitest';
import { fleetHref, parseFleetQuery, sortedBy, toggleState } from './fleet-query.ts';

const parse = (text: string) => parseFleetQuery(new URLSearchParams(text));

describe('the fleet query in the address', () => {
  it('reads what the address says and falls back where it says nonsense', () => {
    expect(parse('sort=-charge&show=low,overdue,nonsense&q=%20sluice ')).toEqual({
      sort: 'charge',
      reversed: true,
      states: ['low', 'overdue'],
      onlyNeedy: false,
      search: 'sluice',
      group: 'none',
      drawing: 'rows',
    });
    expect(parse('sort=-colour').sort).toBe('urgency');
    expect(parse('sort=-colour').reversed).toBe(false);
  });

  it('writes an address that reads back the same, and a plain one for the default', () => {
    expect(fleetHref(parse(''))).toBe('/');
    const address = '/?sort=-charge&show=need-someone,low&q=moss&group=when&as=map';
    expect(fleetHref(parse(address.slice(2)))).toBe(address);
  });

  it('turns a column round at the second asking and takes a state away at the second', () => {
    const once = sortedBy(parse(''), 'name');
    expect([once.sort, once.reversed]).toEqual(['name', false]);
    expect(sortedBy(once, 'name').reversed).toBe(true);
    const low = toggleState(parse(''), 'low');
    expect(low.states).toEqual(['low']);
    expect(toggleState(low, 'low').states).toEqual([]);
  });
});
