import { DAY_MS, HOUR_MS, type Outlook, type SilenceCause } from '@duskline/domain';
import { describe, expect, it } from 'vitest';
import { diagnoseSilence } from './diagnose-silence.ts';
import type { SilenceSeen } from './seen-of-silence.ts';
import { gaugedAt, node, nowMs, site } from './testing-node.ts';

// Evidence for and against as in the trade’s table of silences (common practice, no source).

const chargeAt = (ratio: number) => gaugedAt(nowMs - 5 * HOUR_MS, ratio);
const healthy: SilenceSeen = {
  nowMs,
  site,
  node,
  firstHeardAtMs: nowMs - 200 * DAY_MS,
  lastHeardAtMs: nowMs - 5 * HOUR_MS,
  lastObservedAtMs: nowMs - 5 * HOUR_MS,
  lastWord: { kind: 'dropped', atMs: nowMs - 5 * HOUR_MS },
  charge: chargeAt(0.72),
  others: { expected: 19, heard: 18 },
  signalSlopeDbPerDay: 0,
  signalDbm: -85,
  lastDaylightPanelV: [17.2, 17.4],
  lastDayLoadShare: 1,
  brightHoursSince: 8,
};
const alone = {
  name: 'Moornet',
  sameExpected: 5,
  sameHeard: 5,
  fellSilentTogether: 0,
  otherExpected: 14,
  otherHeard: 13,
};

const cases: Readonly<Record<SilenceCause, Partial<SilenceSeen>>> = {
  'dark-declared': {
    lastWord: {
      kind: 'farewell',
      atMs: nowMs - 5 * HOUR_MS,
      reason: 'charge at the shut-down level',
      chargeRatio: 0.1,
    },
    charge: chargeAt(0.1),
  },
  'dark-inferred': {
    charge: chargeAt(0.12),
    outlookBefore: { kind: 'empties-in', issuedAtMs: nowMs - DAY_MS, p10Days: 0.7 } as Outlook,
  },
  broken: { link: alone },
  'link-one': { signalSlopeDbPerDay: -0.6, signalDbm: -112, link: alone },
  'link-shared': {
    link: { ...alone, sameHeard: 0, fellSilentTogether: 4 },
    others: { expected: 19, heard: 13 },
  },
  'data-cap': {
    dataPlan: { usedBytes: 0.99e8, capBytes: 1e8, renewsAtMs: nowMs + 5 * DAY_MS },
    link: alone,
  },
  theft: { lastDaylightPanelV: [17.2, 0.1], moved: true, link: alone },
  'our-side': {
    others: { expected: 19, heard: 0 },
    ownFault: 'Our intake has stored nothing for 40 min',
  },
  'clock-reset': { misdatedMessages: 12, link: alone },
  'awake-pattern': { lastDayLoadShare: 1.9, brightHoursSince: 1, link: alone },
};

describe('the ranked causes of a silence', () => {
  it.each(Object.keys(cases) as SilenceCause[])('puts %s first', (cause) => {
    const { causes } = diagnoseSilence({ ...healthy, ...cases[cause] });
    expect(causes[0]?.cause).toBe(cause);
    expect(causes[0]?.evidenceFor.length).toBeGreaterThan(0);
    expect(causes[0]?.settledBy).not.toBe('');
    expect(causes.reduce((sum, { probability }) => sum + probability, 0)).toBeCloseTo(1, 9);
  });

  it('says when a used-up plan begins anew', () => {
    const { causes } = diagnoseSilence({ ...healthy, ...cases['data-cap'] });
    expect(causes[0]?.settledAtMs).toBe(nowMs + 5 * DAY_MS);
  });

  it('leaves out what cannot be judged', () => {
    const { causes } = diagnoseSilence(healthy);
    expect(causes.some(({ cause }) => cause === 'data-cap')).toBe(false);
  });

  // The trade's row: panel to 0 in daylight in one step, then silence. Two failures within the hour would be a great chance.
  it.each([1, 5, 8])(
    'puts theft first by the panel alone, %i bright hours after the silence',
    (brightHoursSince) => {
      const { causes } = diagnoseSilence({
        ...healthy,
        brightHoursSince,
        lastDaylightPanelV: [18.1, 0],
        boxOpened: false,
        moved: false,
      });
      expect(causes[0]?.cause).toBe('theft');
      expect(causes[1]?.cause).toBe('broken');
    },
  );

  it('does not think of theft without a sign of it, nor of a node that said it was shutting down', () => {
    const thought = (seen: Partial<SilenceSeen>) =>
      diagnoseSilence({ ...healthy, ...seen }).causes.find(({ cause }) => cause === 'theft')
        ?.probability;
    expect(thought({})).toBeLessThan(0.05);
    expect(thought({ lastDaylightPanelV: [] })).toBeLessThan(0.05);
    expect(thought({ ...cases['dark-declared'], lastDaylightPanelV: [17.2, 0.1] })).toBeLessThan(
      0.05,
    );
  });

  it('is in doubt when little is known', () => {
    const { causes } = diagnoseSilence({
      nowMs,
      site,
      node,
      lastHeardAtMs: nowMs - DAY_MS,
      others: { expected: 0, heard: 0 },
    });
    expect(causes[0]?.probability).toBeLessThan(0.7);
  });
});
