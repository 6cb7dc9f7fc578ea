import { describe, expect, it } from 'vitest';
import { intervalAt, stacked, valueOf } from './replay-lanes.ts';

const at = (hour: number): string => new Date(Date.UTC(2026, 10, 20, hour)).toISOString();
const ms = (hour: number): number => Date.UTC(2026, 10, 20, hour);

describe('a stretch of time, replayed', () => {
  it('has a value where something was read near, and none in a gap', () => {
    const line = {
      metric: 'charge',
      label: 'Charge',
      unit: '%',
      gapMs: 3_600_000,
      points: [
        { atMs: ms(1), value: 40 },
        { atMs: ms(2), value: 50 },
        { atMs: ms(9), value: 60 },
      ],
    };
    expect(valueOf(line, ms(2) + 60_000)).toBe(50);
    expect(valueOf(line, ms(5))).toBeUndefined();
    expect(valueOf(line, ms(9))).toBe(60);
    expect(valueOf(undefined, ms(1))).toBeUndefined();
  });

  it('knows in which state the node was', () => {
    const interval = { cause: '', evidence: [] };
    const intervals = [
      { ...interval, state: 'low' as const, from: at(6), to: null },
      { ...interval, state: 'up' as const, from: at(0), to: at(6) },
    ];
    expect(intervalAt(intervals, ms(6))?.state).toBe('low');
    expect(intervalAt(intervals, ms(5))?.state).toBe('up');
    expect(intervalAt(intervals, ms(-1))).toBeUndefined();
  });

  it('lays no alert over another', () => {
    const rows = stacked([
      { id: 1, openedAt: at(0), endedAt: at(4) },
      { id: 2, openedAt: at(2), endedAt: null },
      { id: 3, openedAt: at(5), endedAt: at(6) },
    ]);
    expect(rows.map((row) => row.map(({ id }) => id))).toEqual([[1, 3], [2]]);
  });
});
