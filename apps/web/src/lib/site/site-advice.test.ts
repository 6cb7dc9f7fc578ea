import { describe, expect, it } from 'vitest';
import { alertFixture, fixtureNow, outlookFixture, siteFixture } from '../fleet/fixtures.ts';
import { siteAdvice } from './site-advice.ts';

const nowMs = Date.parse(fixtureNow);
const alert = alertFixture({
  byWhen: 'today; no need at night',
  todo: 'Call the land-owner.',
  state: 'new',
  takenBy: null,
});

describe('what a silent site asks of a stranger', () => {
  it('is to wait while it is dark as designed, with when it is expected and what happens when it is late', () => {
    const back = {
      kind: 'expected-back' as const,
      p10At: '2026-11-27T09:00:00Z',
      p50At: '2026-11-28T09:00:00Z',
      p90At: '2026-11-29T12:00:00Z',
    };
    const advice = siteAdvice(
      siteFixture({ state: 'dark-as-designed', outlook: outlookFixture({ back }) }),
      nowMs,
    );
    expect(advice?.kind).toBe('wait');
    expect(advice?.sentence).toMatch(/^Wait: expected back Fri–Sun\..*Overdue/);
  });

  it('is to go where an alert asks for somebody, also when nobody has it', () => {
    const advice = siteAdvice(siteFixture({ state: 'silent-unexplained', alerts: [alert] }), nowMs);
    expect(advice).toEqual({
      kind: 'go',
      sentence: 'Act: today; no need at night. Call the land-owner. Nobody has it yet.',
    });
  });

  it('is nothing at this node when the link of several is down', () => {
    expect(siteAdvice(siteFixture({ state: 'link-down' }), nowMs)?.kind).toBe('not-this-node');
  });

  it('is no question where it is heard', () => {
    expect(siteAdvice(siteFixture({ state: 'low', alerts: [alert] }), nowMs)).toBeUndefined();
  });
});
