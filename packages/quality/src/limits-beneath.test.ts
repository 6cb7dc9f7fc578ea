import { metricKeys } from '@duskline/domain';
import { describe, expect, it } from 'vitest';
import { limitsBeneath } from './limits-beneath.ts';

/** Figures of the defaults: WMO steps as trade practice has them, written down here by hand. */
describe('what holds beneath', () => {
  it('are the defaults, each with its source', () => {
    const { metrics, cross } = limitsBeneath([]);
    expect(metrics.air_temp).toMatchObject({
      failSpan: { limit: [-50, 50], from: 'default', source: expect.stringContaining('WMO') },
      rate: { limit: { suspectPerS: 0.05, leastS: 60 }, source: expect.stringContaining('WMO') },
      neighbour: { limit: { suspect: 8 }, source: 'our choice, no source' },
    });
    expect(metrics.rain).not.toHaveProperty('flatLine');
    expect(cross.dewPointAboveAirC).toEqual({ limit: 0.1, from: 'default', source: 'physics' });
    for (const key of metricKeys)
      for (const { source } of Object.values(metrics[key] ?? {})) expect(source).not.toBe('');
  });

  it('are what was set for the site, over that for its node, test by test', () => {
    const { metrics, cross } = limitsBeneath([
      {
        from: 'site',
        limits: {
          metrics: { air_temp: { failSpan: [-30, 40], spike: { suspect: 2 } } },
          cross: { chargeJumpPct: 12 },
        },
      },
      { from: 'node', limits: { metrics: { air_temp: { spike: null } } } },
    ]);
    expect(metrics.air_temp?.failSpan).toEqual({ limit: [-30, 40], from: 'site', source: null });
    expect(metrics.air_temp?.spike).toEqual({ limit: null, from: 'node', source: null });
    expect(metrics.air_temp?.neighbour?.from).toBe('default');
    expect(cross.chargeJumpPct).toEqual({ limit: 12, from: 'site', source: null });
    expect(cross.chargeJumpS.from).toBe('default');
  });
});
