import type { NodeInterval, NodeState } from '@duskline/domain';
import { describe, expect, it } from 'vitest';
import type { IntervalRow } from './interval-row.ts';
import { placePast } from './place-past.ts';

const HOUR = 3_600_000;
const row = (state: NodeState, from: number, to: number | null, cause = state): IntervalRow => ({
  state,
  from_at: from * HOUR,
  to_at: to === null ? null : to * HOUR,
  cause,
  evidence: [],
});
const told = (state: NodeState, from: number, to: number): NodeInterval => ({
  state,
  fromMs: from * HOUR,
  toMs: to * HOUR,
  cause: `told ${state}`,
  evidence: [],
});
function place(rows: readonly IntervalRow[], past: readonly NodeInterval[]) {
  const open = rows.at(-1);
  if (open === undefined) throw new Error('no open interval');
  const { closed, openFromMs } = placePast(rows, open, past);
  closed.slice(1).forEach(({ from_at }, i) => expect(from_at).toBe(closed[i]?.to_at));
  if (closed.length > 0) expect(closed.at(-1)?.to_at).toBe(openFromMs);
  return [
    ...closed.map(({ state, from_at, to_at }) => [state, from_at / HOUR, to_at / HOUR]),
    [open.state, openFromMs / HOUR],
  ];
}

describe('a told past', () => {
  it('stands before all that was known', () => {
    expect(
      place(
        [row('up', 50, null)],
        [told('up', 0, 10), told('dark-as-designed', 10, 40), told('up', 40, 50)],
      ),
    ).toEqual([
      ['up', 0, 10],
      ['dark-as-designed', 10, 40],
      ['up', 40],
    ]);
  });

  it('takes the place of a silence that it refutes, in the middle too', () => {
    expect(
      place(
        [row('up', 0, 20), row('silent-unexplained', 20, 60), row('up', 60, null)],
        [told('up', 20, 30), told('silent-unexplained', 30, 40), told('up', 40, 60)],
      ),
    ).toEqual([
      ['up', 0, 30],
      ['silent-unexplained', 30, 40],
      ['up', 40],
    ]);
  });

  it('moves the begin of a silence that still lasts to the last reading', () => {
    expect(
      place([row('up', 0, 20), row('silent-unexplained', 20, null)], [told('up', 20, 30)]),
    ).toEqual([
      ['up', 0, 30],
      ['silent-unexplained', 30],
    ]);
  });

  it('opens what was thought one stretch', () => {
    expect(
      place(
        [row('up', 0, null)],
        [told('up', 10, 20), told('dark-as-designed', 20, 40), told('up', 40, 45)],
      ),
    ).toEqual([
      ['up', 0, 20],
      ['dark-as-designed', 20, 40],
      ['up', 40],
    ]);
  });

  it('leaves no hole after it, and claims nothing of a long one', () => {
    expect(place([row('low', 51, null)], [told('up', 0, 50)])).toEqual([
      ['up', 0, 51],
      ['low', 51],
    ]);
    expect(place([row('low', 80, null)], [told('up', 0, 50)])).toEqual([
      ['up', 0, 50],
      ['silent-unexplained', 50, 80],
      ['low', 80],
    ]);
  });

  it('is of a node that was never heard since it was put up, and takes the place of that', () => {
    expect(
      place(
        [row('not-yet-proved', 0, null)],
        [told('up', 2, 30), told('dark-as-designed', 30, 50)],
      ),
    ).toEqual([
      ['up', 2, 30],
      ['dark-as-designed', 30, 50],
      ['not-yet-proved', 50],
    ]);
  });

  it('lets work that is going on stand', () => {
    expect(place([row('off-for-work', 20, null)], [told('up', 0, 30)])).toEqual([
      ['up', 0, 20],
      ['off-for-work', 20],
    ]);
  });
});
