import { describe, expect, it } from 'vitest';
import { madeUpHistory } from '../testing.ts';
import { dayShapes } from './day-shape.ts';
import { CLIPPED, FREE } from './hour-flags.ts';
import type { PastHours } from './past-hours.ts';

/** Two days of a sun that gives 1, 2, 3, 2, 1 Wh from 10 to 14 o'clock. */
const SUN: Readonly<Record<number, number>> = { 10: 1, 11: 2, 12: 3, 13: 2, 14: 1 };
const startMs = Date.UTC(2026, 8, 20);
const hours = 48;
const past: PastHours = {
  history: madeUpHistory(startMs, hours, {}),
  count: hours,
  spans: [{ from: 0, to: hours }],
  referenceWh: Float64Array.from({ length: hours }, (_, i) => SUN[i % 24] ?? 0),
  beyondWh: new Map(),
  day: Int32Array.from({ length: hours }, (_, i) => Math.floor(i / 24) - 2),
  slot: Uint8Array.from({ length: hours }, (_, i) => i % 24),
};
const days = [-2, -1].map((day, i) => ({
  day,
  ratio: 0.5,
  isCensored: false,
  heardShare: 1,
  firstHour: i * 24,
}));

const shapesOf = (
  powerW: (hour: number) => number,
  facts: { readonly from?: 'panel' | 'charge'; readonly flagOf?: (hour: number) => number } = {},
) =>
  dayShapes(days, past, {
    harvest: {
      harvestW: Float64Array.from({ length: hours }, (_, i) => powerW(i % 24)),
      heard: new Uint8Array(hours).fill(1),
      from: facts.from ?? 'panel',
    },
    flags: Uint8Array.from({ length: hours }, (_, i) => facts.flagOf?.(i) ?? FREE),
  });

describe('the shape of a day', () => {
  it('is the hour’s yield over the day’s: a morning of fog before a bright afternoon', () => {
    // By hand: 0, 0, 1.5, 2, 1 = 4.5 Wh of 9 is a day's yield of 0.5; hours of 0, 0, 0.5, 1, 1.
    const fog: Readonly<Record<number, number>> = { 10: 0, 11: 0, 12: 1.5, 13: 2, 14: 1 };
    const shapes = shapesOf((hour) => fog[hour] ?? 0);
    expect([...shapes.subarray(10, 15)]).toEqual([0, 0, 1, 2, 2]);
    expect([...shapes.subarray(34, 39)]).toEqual([0, 0, 1, 2, 2]);
  });

  it('leaves the day its energy, also where an hour of low sun is cut off', () => {
    // 3 of 1 Wh at ten o'clock, nothing else: the hour's yield is nine times the day's.
    const shapes = shapesOf((hour) => (hour === 10 ? 3 : 0));
    const weighed = [10, 11, 12, 13, 14].map((hour) => shapes[hour]! * SUN[hour]!);
    expect(weighed.reduce((a, b) => a + b, 0)).toBeCloseTo(9, 5);
  });

  it('is even where nothing tells it: a full battery at noon, a harvest worked back from charge', () => {
    const even = new Float32Array(48).fill(1);
    const uneven = (hour: number): number => (hour < 12 ? 0.1 : 2);
    const full = shapesOf(uneven, { flagOf: (hour) => (hour % 24 === 12 ? CLIPPED : FREE) });
    expect(full).toEqual(even);
    expect(shapesOf(uneven, { from: 'charge' })).toEqual(even);
  });
});
