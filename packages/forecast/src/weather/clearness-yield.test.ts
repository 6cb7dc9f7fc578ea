import { DAY_MS } from '@duskline/domain';
import { describe, expect, it } from 'vitest';
import { moor, moorPower } from '../testing.ts';
import { clearnessYield } from './clearness-yield.ts';

const startMs = Date.UTC(2026, 10, 20, 12);

describe('the yield of a clearness', () => {
  const site = { position: moor, panel: moorPower.panel, startMs };
  const chain = clearnessYield({ ...site, days: 60 });

  it('rises from nothing with the sky, and more than in proportion on a steep panel in winter', () => {
    expect(chain.ratio(0, 0)).toBe(0);
    const dull = chain.ratio(5, 0.2);
    const bright = chain.ratio(5, 0.6);
    // Erbs: below 0.22 nearly all is diffuse, of which a steep panel sees a part; a clear winter sun stands square to it.
    expect(bright / dull).toBeGreaterThan(3);
    expect(bright).toBeGreaterThan(0.6);
    expect(bright).toBeLessThan(1.1);
  });

  it('is undone by its inverse', () => {
    for (const clearness of [0.1, 0.3, 0.45])
      expect(chain.clearness(17, chain.ratio(17, clearness))).toBeCloseTo(clearness, 4);
  });

  it('between its dates is near the chain of the day', () => {
    const onTheDay = clearnessYield({ ...site, startMs: startMs + 15 * DAY_MS, days: 1 });
    for (const clearness of [0.15, 0.3, 0.45])
      expect(Math.abs(chain.ratio(15, clearness) - onTheDay.ratio(0, clearness))).toBeLessThan(
        0.02,
      );
  });

  it('knows nothing to refuse in polar night', () => {
    const north = { latitudeDeg: 78, longitudeDeg: 15, elevationM: 10 };
    const night = clearnessYield({ position: north, panel: moorPower.panel, startMs, days: 30 });
    expect(night.ratio(10, 0.3)).toBeGreaterThan(0);
  });
});
