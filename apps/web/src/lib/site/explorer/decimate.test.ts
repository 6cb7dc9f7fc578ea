import { describe, expect, it } from 'vitest';
import { decimate, nearestIndex, type SeriesColumns } from './decimate.ts';

const series = (points: readonly (readonly [number, number])[]): SeriesColumns => ({
  atMs: Float64Array.from(points, ([at]) => at),
  mean: Float64Array.from(points, ([, value]) => value),
  low: Float64Array.from(points, ([, value]) => value),
  high: Float64Array.from(points, ([, value]) => value),
});

describe('drawing many readings in few columns', () => {
  it('keeps the one spike among a million, in a pixel column of its own time', () => {
    const count = 1_000_000;
    const atMs = new Float64Array(count);
    for (let i = 0; i < count; i++) atMs[i] = i * 1000;
    const mean = new Float64Array(count).fill(12);
    mean[700_123] = 99;
    const drawn = decimate(
      { atMs, mean, low: mean, high: mean },
      { fromMs: 0, toMs: count * 1000, columns: 1000, gapMs: 5000 },
    );
    expect(drawn).toHaveLength(1000);
    expect(drawn.filter(({ high }) => high === 99).map(({ column }) => column)).toEqual([700]);
    expect(drawn.every(({ low }) => low === 12)).toBe(true);
  });

  it('does not bridge a silence', () => {
    const drawn = decimate(
      series([
        [0, 1],
        [10, 2],
        [80, 3],
        [90, 4],
      ]),
      { fromMs: 0, toMs: 100, columns: 100, gapMs: 20 },
    );
    expect(drawn.map(({ column, isBroken }) => [column, isBroken])).toEqual([
      [0, false],
      [10, false],
      [80, true],
      [90, false],
    ]);
  });

  it('runs on to the neighbours outside, and draws nothing of nothing', () => {
    const of = series([
      [0, 1],
      [50, 2],
      [100, 3],
    ]);
    const view = { fromMs: 40, toMs: 60, columns: 20, gapMs: 1000 };
    expect(decimate(of, view).map(({ column, first }) => [column, first])).toEqual([
      [-1, 1],
      [10, 2],
      [20, 3],
    ]);
    expect(decimate(series([]), view)).toEqual([]);
  });

  it('finds what was read at a moment, and nothing where nothing was', () => {
    const { atMs } = series([
      [0, 1],
      [50, 2],
    ]);
    expect(nearestIndex(atMs, 30, 25)).toBe(1);
    expect(nearestIndex(atMs, 200, 25)).toBeUndefined();
    expect(nearestIndex(new Float64Array(), 0, 25)).toBeUndefined();
  });
});
