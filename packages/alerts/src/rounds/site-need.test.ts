import { DAY_MS, HOUR_MS, type Alert, type Outlook } from '@duskline/domain';
import { describe, expect, it } from 'vitest';
import { likely, node, outlook, site, startMs, verdict } from '../testing.ts';
import { dataDaysSaved } from './data-days-saved.ts';
import { siteNeed, type SiteNeedFacts } from './site-need.ts';

const facts = (over: Partial<SiteNeedFacts>): SiteNeedFacts => ({
  nowMs: startMs,
  site,
  node,
  verdict: verdict('up'),
  alerts: [],
  ...over,
});
const alert = (rule: string, over: Partial<Alert> = {}): Alert =>
  ({
    rule,
    priority: 'P2',
    state: 'new',
    openedAtMs: startMs - HOUR_MS,
    text: { sentence: `${rule}.` },
    ...over,
  }) as Alert;
const emptying = (p: number, over: object = {}): Outlook => ({
  ...outlook(p),
  issuedAtMs: startMs,
  ...over,
});
const beyond = { kind: 'beyond-horizon', issuedAtMs: startMs, horizonDays: 30 } as Outlook;
const back = (days: readonly [number, number, number]) =>
  ({
    kind: 'insufficient-data',
    back: {
      kind: 'expected-back',
      window: {
        p10Ms: startMs + days[0] * DAY_MS,
        p50Ms: startMs + days[1] * DAY_MS,
        p90Ms: startMs + days[2] * DAY_MS,
      },
    },
  }) as Outlook;

// The dates are those of the trade table of rules (project choices, common practice), added up by hand.
describe('the latest safe date', () => {
  it('is the pessimistic end of the outlook', () => {
    expect(siteNeed(facts({ outlook: emptying(0.8, { p10Days: 2.5 }) }))).toMatchObject({
      kind: 'by',
      atMs: startMs + 2.5 * DAY_MS,
    });
  });

  it('is what an alert asks for where that comes first, with both reasons said', () => {
    const need = siteNeed(
      facts({
        outlook: emptying(0.8, { p10Days: 6 }),
        alerts: [alert('charging-fault')],
      }),
    );
    expect(need).toMatchObject({ kind: 'by', atMs: startMs - HOUR_MS + 2 * DAY_MS });
    expect(need.because).toHaveLength(2);
    expect(need.because[0]).toContain('charging-fault');
    expect(need.because[0]).toMatch(/: this alert sets the date\.$/);
    expect(need.because[1]).not.toContain('sets the date');
  });

  it('says of an alert that would allow longer that the outlook sets the date', () => {
    const need = siteNeed(
      facts({ outlook: emptying(0.8, { p10Days: 0.4 }), alerts: [alert('charging-fault')] }),
    );
    expect(need.because[0]).toMatch(/within 7 days: the outlook sets the date\.$/);
    expect(need.because[1]).toMatch(/This alert alone would allow until /);
    // Two dates of which neither is said to be the one would contradict each other.
    expect(need.because.join(' ')).not.toContain('To be seen to by');
  });

  it('is now, and never before, for what has waited too long or puts people in danger', () => {
    for (const one of [
      alert('silent-unexplained', { openedAtMs: startMs - 4 * DAY_MS }),
      alert('battery-temperature', { priority: 'P1' }),
    ])
      expect(siteNeed(facts({ alerts: [one] }))).toMatchObject({ kind: 'by', atMs: startMs });
  });

  it('is none for alerts that nobody has to act on, or that are seen to from home', () => {
    const alerts = [
      alert('charge-low', { state: 'quiet-by-design' }),
      alert('charge-low', { state: 'ended-unseen' }),
      alert('data-cap'),
    ];
    expect(siteNeed(facts({ alerts, outlook: beyond })).kind).toBe('no-need');
  });

  it('stays while the alert that sets it is paused, and says until when that is', () => {
    const untilMs = startMs + 13 * HOUR_MS;
    const paused = alert('silent-unexplained', {
      state: 'paused',
      paused: { by: 'Ines Tarn', untilMs, why: 'Fog.' },
    });
    const need = siteNeed(facts({ verdict: verdict('silent-unexplained'), alerts: [paused] }));
    // A day after it opened: the table of rules.
    expect(need).toMatchObject({
      kind: 'by',
      atMs: startMs + 23 * HOUR_MS,
      pausedUntilMs: untilMs,
    });
    expect(need.because.join(' ')).toMatch(/Ines Tarn paused it until .+: the date stays\./);
    // An alert that sets no date does not mark the date of another.
    const both = [{ ...paused, rule: 'storage-full' }, alert('charging-fault')];
    expect(siteNeed(facts({ alerts: both }))).not.toHaveProperty('pausedUntilMs');
  });

  it('is none while it is dark as designed, until it should have been back', () => {
    expect(
      siteNeed(facts({ verdict: verdict('dark-as-designed'), outlook: back([1, 2, 4]) })),
    ).toMatchObject({ kind: 'no-need', untilMs: startMs + 4 * DAY_MS });
  });

  it.each([
    ['a gap is accepted', { acceptedUntilMs: startMs + DAY_MS }, 'no-need'],
    ['its link is down', { verdict: verdict('link-down') }, 'no-need'],
    [
      'it is off for work',
      {
        verdict: verdict('off-for-work'),
        node: {
          ...node,
          offForWork: {
            owner: 'Ines',
            reason: 'new mast',
            fromMs: startMs,
            untilMs: startMs + DAY_MS,
          },
        },
      },
      'no-need',
    ],
    ['nothing is known', {}, 'cannot-tell'],
    ['it is not yet proved', { verdict: verdict('not-yet-proved') }, 'cannot-tell'],
    [
      'there is too little data',
      { outlook: { kind: 'insufficient-data' } as Outlook },
      'cannot-tell',
    ],
    ['there is no node', { node: undefined }, 'cannot-tell'],
  ])('where %s', (_what, over, kind) => {
    const given = facts(over as Partial<SiteNeedFacts>);
    const need = siteNeed(given);
    expect(need.kind).toBe(kind);
    expect(need.because.join('')).not.toBe('');
  });
});

describe('days of data saved', () => {
  // By hand: a chance that grows evenly to 1 on day 3 and stays there: 14 − 3 + 3/2 = 12.5 days are lost.
  it('are the chance of being dark, summed up', () => {
    expect(dataDaysSaved(facts({ outlook: emptying(1) }), startMs)).toBeCloseTo(12.5, 1);
  });

  it('shrink the later somebody goes, to nothing after fourteen days', () => {
    const saved = [0, 2, 7, 14, 20].map(
      (days) => dataDaysSaved(facts({ outlook: emptying(0.6) }), startMs + days * DAY_MS) ?? -1,
    );
    expect(saved).toEqual([...saved].sort((a, b) => b - a));
    expect(saved.slice(3)).toEqual([0, 0]);
  });

  it('of a dark node are those until it would have come back by itself', () => {
    const dark = { verdict: verdict('dark-as-designed') };
    expect(dataDaysSaved(facts({ ...dark, outlook: back([2, 5, 9]) }), startMs)).toBeCloseTo(5, 6);
    expect(
      dataDaysSaved(facts({ ...dark, outlook: back([2, 5, 9]) }), startMs + DAY_MS),
    ).toBeCloseTo(4, 6);
    expect(dataDaysSaved(facts({ verdict: verdict('overdue') }), startMs)).toBe(14);
  });

  it('of a silent node count only as far as somebody there can end the silence', () => {
    const silent = { verdict: verdict('silent-unexplained') };
    expect(
      dataDaysSaved(facts({ ...silent, silence: likely('broken', 0.75) }), startMs),
    ).toBeCloseTo(10.5, 6);
    expect(dataDaysSaved(facts({ ...silent, silence: likely('link-one', 0.9) }), startMs)).toBe(0);
  });

  it('are not made up where nothing is known', () => {
    expect(dataDaysSaved(facts({}), startMs)).toBeUndefined();
    const { node: _node, ...without } = facts({});
    expect(dataDaysSaved(without, startMs)).toBeUndefined();
    expect(dataDaysSaved(facts({ verdict: verdict('link-down') }), startMs)).toBe(0);
  });
});
