import { describe, expect, it } from 'vitest';
import { lastOf, moved, zoomed } from './view-window.ts';

const now = 1_000_000_000;
const hour = 3_600_000;
const view = { fromMs: now - 10 * hour, toMs: now };

describe('the stretch of time in view', () => {
  it('is zoomed about the pointer', () => {
    const closer = zoomed(view, 0.5, now - 5 * hour, now);
    expect(closer).toEqual({ fromMs: now - 7.5 * hour, toMs: now - 2.5 * hour });
  });

  it('never reaches into the future, and never shrinks to nothing', () => {
    expect(zoomed(view, 2, now, now).toMs).toBeLessThanOrEqual(now);
    expect(moved(view, 1, now)).toEqual(view);
    expect(moved(view, -0.5, now)).toEqual({ fromMs: now - 15 * hour, toMs: now - 5 * hour });
    const tiny = zoomed(view, 1e-9, now - hour, now);
    expect(tiny.toMs - tiny.fromMs).toBeCloseTo(120_000);
    expect(lastOf(hour, now)).toEqual({ fromMs: now - hour, toMs: now });
  });
});
