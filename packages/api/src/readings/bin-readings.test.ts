import { describe, expect, it } from 'vitest';
import { binReadings, pointsOf } from './bin-readings.ts';
import { binRollups } from './bin-rollups.ts';
import { meanDirectionDeg } from './mean-direction.ts';

const MINUTE = 60_000;
const at = (minute: number, value: number) => ({ atMs: minute * MINUTE, value });

// Expected figures are worked out by hand.
describe('binning readings', () => {
  it('sums up each step by mean, least, greatest and count', () => {
    const readings = [at(0, 12), at(4, 14), at(9, 13), at(10, 20), at(19.9, 10)];
    expect(binReadings(readings, 10 * MINUTE, 'mean')).toEqual([
      { atMs: 0, mean: 13, min: 12, max: 14, count: 3 },
      { atMs: 10 * MINUTE, mean: 15, min: 10, max: 20, count: 2 },
    ]);
  });

  it('leaves a gap a gap', () => {
    const readings = [at(0, 1), at(60, 2)];
    expect(binReadings(readings, 10 * MINUTE, 'mean').map(({ atMs }) => atMs / MINUTE)).toEqual([
      0, 60,
    ]);
  });

  it('starts steps at the same instants wherever the range begins', () => {
    const late = binReadings([at(7, 1), at(11, 1)], 10 * MINUTE, 'mean');
    const early = binReadings([at(1, 1), at(7, 1), at(11, 1)], 10 * MINUTE, 'mean');
    expect(late.map(({ atMs }) => atMs)).toEqual(early.map(({ atMs }) => atMs));
  });

  it('keeps every reading: counts add up and the weighted mean is the mean of all', () => {
    const readings = Array.from({ length: 1000 }, (_, i) => at(i * 0.7, (i * 37) % 101));
    const bins = binReadings(readings, 10 * MINUTE, 'mean');
    const total = readings.reduce((sum, { value }) => sum + value, 0);
    expect(bins.reduce((sum, { count }) => sum + count, 0)).toBe(1000);
    expect(bins.reduce((sum, { mean, count }) => sum + mean * count, 0)).toBeCloseTo(total, 6);
    expect(Math.max(...bins.map(({ max }) => max))).toBe(100);
    expect(Math.min(...bins.map(({ min }) => min))).toBe(0);
  });

  it('takes directions as vectors: north-north-west and north-north-east make north', () => {
    expect(meanDirectionDeg([350, 10])).toBeCloseTo(0, 9);
    expect(meanDirectionDeg([80, 100])).toBeCloseTo(90, 9);
    expect(meanDirectionDeg([181, 179])).toBeCloseTo(180, 9);
    expect(meanDirectionDeg([0, 90, 90, 180])).toBeCloseTo(90, 9);
    expect(binReadings([at(0, 350), at(1, 20)], 10 * MINUTE, 'circular-mean')[0]?.mean).toBeCloseTo(
      5,
      9,
    );
  });

  it('gives the last direction where they cancel out, never a made-up one', () => {
    expect(meanDirectionDeg([0, 180])).toBe(180);
    expect(meanDirectionDeg([90, 270])).toBe(270);
  });

  it('passes single readings through as they are', () => {
    expect(pointsOf([at(3, 12.5)])).toEqual([
      { atMs: 3 * MINUTE, mean: 12.5, min: 12.5, max: 12.5, count: 1 },
    ]);
  });
});

describe('binning rollups', () => {
  const DAY = 86_400_000;
  const day = (n: number, count: number, sum: number, [min, max, last]: number[]) => ({
    metric: 'batt_v' as const,
    startMs: n * DAY + 9 * MINUTE,
    count,
    sum,
    min: min ?? 0,
    max: max ?? 0,
    last: last ?? 0,
  });

  it('makes a point of each, its mean the sum by the count', () => {
    expect(binRollups([day(0, 4, 50, [12, 13, 12.5])], DAY, 'mean')).toEqual([
      { atMs: 9 * MINUTE, mean: 12.5, min: 12, max: 13, count: 4 },
    ]);
  });

  it('weighs days by their readings when several make a point', () => {
    const days = [
      day(0, 1, 10, [10, 10, 10]),
      day(1, 3, 60, [18, 22, 20]),
      day(3, 1, 7, [7, 7, 7]),
    ];
    // (10 + 60) ÷ (1 + 3) = 17.5, where the mean of the days' means would be 15.
    expect(binRollups(days, 2 * DAY, 'mean')).toEqual([
      { atMs: 9 * MINUTE, mean: 17.5, min: 10, max: 22, count: 4 },
      { atMs: 2 * DAY + 9 * MINUTE, mean: 7, min: 7, max: 7, count: 1 },
    ]);
  });

  it('has no point for an hour in which nothing was read', () => {
    expect(binRollups([day(0, 0, 0, [0, 0, 0])], DAY, 'mean')).toEqual([]);
    expect(binRollups([], DAY, 'mean')).toEqual([]);
  });

  it('takes directions of hours as vectors, and the last one where they cancel out', () => {
    const of = (deg: number, count: number) => ({
      ...day(0, count, 0, [deg, deg, deg]),
      vector: {
        east: count * Math.sin((deg * Math.PI) / 180),
        north: count * Math.cos((deg * Math.PI) / 180),
      },
    });
    // Three readings of east and three of north make north-east; one against one make nothing.
    const mean = (parts: ReturnType<typeof of>[]) =>
      binRollups(parts, DAY, 'circular-mean')[0]?.mean;
    expect(mean([of(90, 3), of(0, 3)])).toBeCloseTo(45, 9);
    expect(mean([of(350, 2), of(10, 2)])).toBeCloseTo(0, 9);
    expect(mean([of(90, 1), of(270, 1)])).toBe(270);
  });

  it('lets the last direction stand for a step where the hours do not know their vectors', () => {
    expect(binRollups([day(0, 2, 360, [10, 350, 350])], DAY, 'circular-mean')[0]).toMatchObject({
      mean: 350,
      min: 350,
      max: 350,
      count: 2,
    });
  });
});
