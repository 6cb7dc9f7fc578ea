import { describe, expect, it } from 'vitest';
import { alertFixture, fixtureNow, outlookFixture, siteFixture } from '../fleet/fixtures.ts';
import { siteAdvice } from './site-advice.ts';

const nowMs = Date.parse(fixtureNow);
const pause = { by: 'Ines Tarn', until: '2026-12-01T07:00:00Z', why: 'Frost until then.' };
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
    expect(advice?.sentence).toMatch(
      /^Wait: expected back Fri–Sun, by the latest outlook\. .*overdue/,
    );
  });

  it('is to go where an alert asks for somebody, also when nobody has it', () => {
    const advice = siteAdvice(siteFixture({ state: 'silent-unexplained', alerts: [alert] }), nowMs);
    expect(advice).toEqual({
      kind: 'go',
      sentence: 'Act: today; no need at night. Call the land-owner. Nobody has it yet.',
    });
  });

  it('says to whom it was handed while they have not taken it', () => {
    const handed = { to: 'Wren Halloway', says: 'Handed to Wren Halloway by Ines Tarn.' };
    const advice = siteAdvice(
      siteFixture({ state: 'silent-unexplained', alerts: [{ ...alert, handed }] }),
      nowMs,
    );
    expect(advice?.sentence).toMatch(/It was handed to Wren Halloway, who has not taken it yet\.$/);
  });

  it('is nothing at this node when the link of several is down', () => {
    expect(siteAdvice(siteFixture({ state: 'link-down' }), nowMs)?.kind).toBe('not-this-node');
  });

  it('is to wait while its alert is paused, and not for causes that are known', () => {
    const paused = alertFixture({ ...alert, state: 'paused', paused: pause });
    const advice = siteAdvice(
      siteFixture({ state: 'silent-unexplained', alerts: [paused] }),
      nowMs,
    );
    expect(advice?.kind).toBe('wait');
    expect(advice?.sentence).toBe(
      'Wait: Ines Tarn paused its alert until Tue 1 Dec 07:00 UTC, and it calls nobody before. The reason given: Frost until then.',
    );
  });

  it('does not say that no alert is open while one is paused', () => {
    const outlook = outlookFixture({
      kind: 'empties-in',
      p10Days: 2,
      darkWithin7DaysProbability: 0.61,
    });
    const paused = alertFixture({ ...alert, state: 'paused', paused: pause });
    const advice = siteAdvice(siteFixture({ state: 'low', alerts: [paused], outlook }), nowMs);
    expect(advice?.sentence).toMatch(/paused/);
  });

  it('is to go where it is still heard and an alert asks for somebody', () => {
    expect(siteAdvice(siteFixture({ state: 'low', alerts: [alert] }), nowMs)?.kind).toBe('go');
  });

  it('is to plan a visit where it may stop within the week and no alert is open', () => {
    const outlook = (darkWithin7DaysProbability: number) =>
      outlookFixture({ kind: 'empties-in', p10Days: 2, p50Days: 6, darkWithin7DaysProbability });
    const advice = siteAdvice(siteFixture({ state: 'up', outlook: outlook(0.61) }), nowMs);
    expect(advice?.sentence).toMatch(/^Nothing today: .*would stop .*Rounds/);
    expect(siteAdvice(siteFixture({ state: 'up', outlook: outlook(0.1) }), nowMs)).toBeUndefined();
  });

  it('is nothing here for a node that was never heard, and nothing at all for one that is well', () => {
    const bench = siteFixture({ state: 'not-yet-proved', lastHeardAt: null });
    expect(siteAdvice(bench, nowMs)?.kind).toBe('not-this-node');
    expect(siteAdvice(siteFixture({ state: 'up' }), nowMs)).toBeUndefined();
  });
});
