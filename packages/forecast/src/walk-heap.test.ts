import { batteryPackOf } from '@duskline/energy';
import { memoryUsage } from 'node:process';
import { describe, expect, it } from 'vitest';
import { moorPower } from './testing.ts';
import { newTracks, newWalker, type PathDraw, type WalkPlan, walkPath } from './walk.ts';

const DAYS = 60;
const PATHS = 200;
const steps = DAYS * 24;

const plan: WalkPlan = {
  steps,
  lengthH: new Uint8Array(steps).fill(1),
  referenceW: Float64Array.from({ length: steps }, (_, hour) =>
    Math.max(0, 14 * Math.sin(((hour % 24) / 24) * 2 * Math.PI)),
  ),
  loadW: new Float64Array(steps).fill(1.6),
  day: Uint16Array.from({ length: steps }, (_, step) => Math.floor(step / 24)),
  slot: Uint8Array.from({ length: steps }, (_, step) => step % 24),
  temperatureC: new Float32Array(24).fill(8),
  pack: batteryPackOf(moorPower),
  startsAs: 'up',
  fan: { everyH: 6, count: DAYS * 4 + 1 },
  nowH: 0,
  horizonH: steps,
};
const draw: PathDraw = {
  ratio: Float64Array.from({ length: DAYS }, (_, day) => ((day * 37) % 60) / 60),
  poolDay: new Int32Array(DAYS),
  loadFactor: new Float64Array(DAYS).fill(1),
  scale: 1,
  capacityFactor: 1,
  startRatio: 0.8,
};

describe('the inner loop of the walk', () => {
  /** Bytes left on the heap by 288,000 hours: the middle of nine rounds, after the compiler has done its work. */
  function growthOf(walked: WalkPlan): number {
    const walker = newWalker(walked);
    const tracks = newTracks(PATHS, walked.fan.count);
    const growth = (): number => {
      const before = memoryUsage().heapUsed;
      for (let path = 0; path < PATHS; path++) {
        draw.startRatio = 0.3 + (path % 60) / 100;
        walkPath(walker, draw, tracks, path);
      }
      return memoryUsage().heapUsed - before;
    };
    for (let round = 0; round < 20; round++) growth();
    return Array.from({ length: 9 }, growth).sort((a, b) => a - b)[4]!;
  }

  it('allocates nothing where no level, knee or taper is reached', () => {
    const even = {
      ...plan,
      referenceW: plan.referenceW.map((watt) => watt / 100),
      loadW: plan.loadW.map(() => 0.005),
    };
    // One boxed number an hour would be 4 MB; what is left is the meter's own.
    expect(growthOf(even)).toBeLessThan(100_000);
  });

  it('leaves less than four bytes an hour where hours turn: numbers handed to the exact balance', () => {
    expect(growthOf(plan)).toBeLessThan(4 * PATHS * steps);
  });
});
