import { describe, expect, it } from 'vitest';
import { fleetSentence, needsSomeone, type SiteSummary } from './fleet-sentence.ts';

// Wednesday 25 November 2026; weekdays by the civil calendar. Wording by design.md §5 and the look.
const now = Date.parse('2026-11-25T07:02:00Z');
const at = (text: string): number => Date.parse(`2026-${text}:00Z`);
const calm = (name: string, over: Partial<SiteSummary> = {}): SiteSummary => ({
  name,
  timeZone: 'Europe/London',
  state: 'up',
  alertsToActOn: 0,
  clearUntilMs: at('12-25T07:02'),
  ...over,
});
const many = (count: number): SiteSummary[] =>
  Array.from({ length: count }, (_, i) => calm(`Site ${i}`));

describe('the fleet sentence', () => {
  it('says how many need someone and who goes dark next', () => {
    const sites = [
      calm('Rushy Sluice', {
        state: 'low',
        alertsToActOn: 2,
        stops: { fromMs: at('11-27T09:00'), toMs: at('11-29T18:00') },
        clearUntilMs: at('11-27T09:00'),
      }),
      calm('Brackwell Ford', { state: 'silent-unexplained' }),
      calm('Otter Stones', { state: 'overdue', alertsToActOn: 1 }),
      calm('Long Moss', {
        state: 'dark-as-designed',
        back: { fromMs: at('11-27T12:00'), toMs: at('11-29T15:00') },
      }),
      ...many(16),
    ];
    expect(fleetSentence(sites, now)).toEqual({
      first: '3 of 20 sites need someone this week; the next to go dark is Rushy Sluice, Fri–Sun.',
      second:
        '1 is dark as designed and expected back by Sun. The other 16 should need nothing before 25 Dec.',
    });
  });

  it('never names a site that is dark already as the next to go dark', () => {
    const dark = calm('Long Moss', {
      state: 'dark-as-designed',
      stops: { fromMs: now, toMs: now },
    });
    expect(fleetSentence([dark, calm('Marl Beck')], now).first).toBe(
      'None of 2 sites needs anyone this week.',
    );
  });

  it('says plainly when the end of the range is unknown, and when the start has passed', () => {
    const sites = [calm('Tarn Gill', { alertsToActOn: 1, stops: { fromMs: at('11-24T00:00') } })];
    expect(fleetSentence(sites, now).first).toBe(
      'The one site needs someone this week; the next to go dark is Tarn Gill, today at the earliest.',
    );
  });

  it('admits which sites have no outlook, and leaves them out of the promise', () => {
    const unknown: SiteSummary = {
      name: 'Peat Hag',
      timeZone: 'Europe/London',
      state: 'up',
      alertsToActOn: 0,
    };
    expect(fleetSentence([unknown, ...many(3)], now).second).toBe(
      '1 has too little data for an outlook. The other 3 should need nothing before 25 Dec.',
    );
  });

  it('gives the latest return of several dark sites, and no day when one of them has none', () => {
    const dark = (name: string, toMs?: number): SiteSummary =>
      calm(name, {
        state: 'dark-as-designed',
        back: toMs === undefined ? { fromMs: now } : { fromMs: now, toMs },
      });
    const a = dark('Long Moss', at('11-27T15:00'));
    const b = dark('Peat Hag', at('11-30T15:00'));
    expect(fleetSentence([a, b], now).second).toBe(
      '2 are dark as designed, the last expected back by Mon.',
    );
    expect(fleetSentence([a, dark('Ling Ridge')], now).second).toBe('2 are dark as designed.');
  });

  it('counts no retired site and speaks of an empty fleet', () => {
    expect(fleetSentence([calm('Old Mill', { state: 'retired' })], now).first).toBe(
      'No site is set up yet.',
    );
    expect(fleetSentence(many(2), now)).toEqual({
      first: 'None of 2 sites needs anyone this week.',
      second: 'All should need nothing before 25 Dec.',
    });
  });

  it('holds a silence that no design explains to need someone even before an alert is raised', () => {
    expect(needsSomeone({ state: 'silent-unexplained', alertsToActOn: 0 })).toBe(true);
    expect(needsSomeone({ state: 'dark-as-designed', alertsToActOn: 0 })).toBe(false);
    expect(needsSomeone({ state: 'link-down', alertsToActOn: 1 })).toBe(true);
  });
});
