import { nodeId } from '@duskline/domain';
import { pino } from 'pino';
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { startSchedule } from './schedule.ts';

const log = pino({ enabled: false });
/** As many nodes are due as a sweep takes at once, and each look takes a second. */
const DUE = 200;
const LOOK_MS = 1000;

describe('a schedule that is stopped', () => {
  beforeEach(() => {
    vi.useFakeTimers();
  });
  afterEach(() => {
    vi.useRealTimers();
  });

  it('waits for the look that is under way, not for the rest of the sweep', async () => {
    let looked = 0;
    const schedule = startSchedule(
      {
        advance: () => Promise.resolve(),
        async sweep(isOver = () => false) {
          for (let node = 0; node < DUE; node++) {
            if (isOver()) break;
            await new Promise((resolve) => setTimeout(resolve, LOOK_MS));
            looked++;
          }
          return [];
        },
      },
      { log, now: () => Date.now() },
    );
    await vi.advanceTimersByTimeAsync(5000 + 2.5 * LOOK_MS);
    expect(looked).toBe(2);
    const stopped = schedule.stop();
    await vi.advanceTimersByTimeAsync(LOOK_MS);
    await stopped;
    expect(looked).toBe(3);
  });

  it('begins no look that was asked for before', async () => {
    const looks: number[] = [];
    const schedule = startSchedule(
      { advance: async (node) => void looks.push(Number(node)), sweep: () => Promise.resolve([]) },
      { log, now: () => Date.now() },
    );
    schedule.wake(nodeId(7));
    await schedule.stop();
    await vi.advanceTimersByTimeAsync(20_000);
    expect(looks).toEqual([]);
  });
});
