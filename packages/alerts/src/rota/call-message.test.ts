import { MINUTE_MS, type AlertText, type Diagnosis, type Priority } from '@duskline/domain';
import { describe, expect, it } from 'vitest';
import type { FleetFacts } from '../fleet-rule.ts';
import { fleetRules } from '../fleet-rules/index.ts';
import { rules } from '../rules/index.ts';
import { usualCases } from '../rules/usual-cases.ts';
import {
  charge,
  figures,
  likely,
  node,
  outlook,
  site as thornhow,
  startMs,
  verdict,
  type Given,
} from '../testing.ts';
import { callMessage, LONGEST_MESSAGE } from './call-message.ts';

/** A name of two words, as most have. */
const site = { ...thornhow, name: 'Moorgate Culvert' };

/** The other wordings of a rule beside its usual one. */
const others: readonly (readonly [string, Given])[] = [
  ['charging-fault', { figures: figures({ badDays: 3 }) }],
  ['charge-low', { charge: { ...charge(0.39), lowRatio: 0.07, highRatio: 0.71 } }],
  ['forecast-low', { outlook: outlook(0.5) }],
  ['silent-unexplained', { verdict: verdict('silent-unexplained'), critical: true }],
  [
    'silent-unexplained',
    { verdict: verdict('silent-unexplained'), housekeeping: { signalChangeDb: 0 } },
  ],
  ['battery-temperature', { readings: { batt_temp: 63.4 } }],
  ['battery-temperature', { readings: { batt_temp: 48.2, batt_i: 1.2 } }],
  ['load-abnormal', { figures: figures({ loadChange: 0.4, recentLoadW: 0.4, usualLoadW: 1 }) }],
  ['battery-ageing', { figures: figures({ resistanceShare: 2.4 }) }],
  [
    'battery-ageing',
    { figures: figures({ resistanceShare: 2.4, capacityShare: 0.42, capacityCycles: 3 }) },
  ],
  ['clock-wrong', { housekeeping: { clockSource: 'none' } }],
  ['storage-full', { housekeeping: { storageErrors: 12, storageReadOnly: true } }],
  ['repeated-restarts', { housekeeping: { bootsIn24h: 1, shortDarks: 2 } }],
  ['box-climate', { readings: { box_temp: 64.1 } }],
  ['signal-failing', { housekeeping: { backlogHours: 31 } }],
  ['yield-loss', { figures: figures({ yieldChange: 0.7 }) }],
  [
    'data-cap',
    {
      housekeeping: { data: { usedBytes: 1e8, expectedBytes: 1e8, capBytes: 1e8, renewsAtMs: 0 } },
    },
  ],
];

const named = (cause: Parameters<typeof likely>[0], name: string): Diagnosis => {
  const found = likely(cause);
  return { ...found, causes: found.causes.map((one) => ({ ...one, name })) };
};

function found(key: string, { readings = {}, ...given }: Given) {
  const power = given.power?.causes[0];
  // The longest name a cause of poor yield has.
  const words =
    key === 'yield-loss' && power !== undefined
      ? { power: named('shade', 'leaves or growth in the sun’s path') }
      : key === 'charging-fault' && power !== undefined
        ? { power: named('connector', 'panel connector failed') }
        : {};
  const facts = {
    nowMs: startMs,
    node,
    verdict: verdict('up'),
    charge: charge(0.7),
    lastHeardAtMs: startMs,
    latest: Object.entries(readings).map(([metric, value]) => ({
      metric: metric as never,
      observedAtMs: startMs,
      value,
    })),
    ...given,
    ...words,
    site,
    ...(given.outlook === undefined
      ? {}
      : { outlook: { ...given.outlook, issuedAtMs: startMs } as never }),
  };
  return rules
    .find((rule) => rule.key === key)
    ?.evaluate({
      ...facts,
      // The usual charge is of no moment here, only that it is fresh.
      ...(facts.charge === undefined ? {} : { charge: { ...facts.charge, observedAtMs: startMs } }),
    });
}

const fleetNode = (id: number, silentMin: number, link = 'Fell Mobile') => ({
  nodeId: id as never,
  siteId: `s${id}` as never,
  siteName: 'Moorgate Culvert',
  state: 'up' as const,
  link,
  lastHeardAtMs: startMs - silentMin * MINUTE_MS,
  usualGapMs: MINUTE_MS,
});
const fleetCases: readonly Partial<FleetFacts>[] = [
  { nodes: [...[1, 2, 3, 4].map((id) => fleetNode(id, 50)), fleetNode(5, 1, 'Dalecall')] },
  {
    nodes: [1, 2, 3, 4].map((id) => ({
      ...fleetNode(id, 1),
      ahead: {
        darkWithin3DaysProbability: 0.9,
        darkWithin7DaysProbability: 1,
        darkWithin14DaysProbability: 1,
      },
    })),
  },
  { server: { startedAtMs: 0, databaseDown: true } },
  { rotaGap: { fromMs: startMs, says: 'Nobody from Fri 27 Nov 18:00 to 22:00.' } },
  {
    untaken: [
      {
        alert: { id: '4-1' as never, priority: 'P1' },
        siteName: 'Moorgate Culvert',
        wakingMs: 9e6,
      },
    ],
  },
  ...['', 'Bram Holt'].map((companions) => ({
    visitsOut: [
      {
        ...{ subject: 'visit:7', who: 'Ash Fell', phone: '+44 1632 960001', companions },
        siteNames: ['Moorgate Culvert', 'Long Moss'],
        setOutAtMs: startMs - 300 * MINUTE_MS,
        backByMs: startMs - 20 * MINUTE_MS,
        timeZone: 'Europe/London',
      },
    ],
  })),
];

interface Rendered {
  readonly key: string;
  readonly message: string;
}
const rendered: readonly Rendered[] = [
  ...[
    ...Object.entries(usualCases).map(([key, { fires }]) => [key, fires] as const),
    ...others,
  ].flatMap(([key, given]) => {
    return [given, { ...given, firstLightMs: Date.UTC(2026, 10, 28, 8, 5) }].flatMap((one) => {
      const finding = found(key, one);
      return finding?.kind === 'holds'
        ? [{ key, message: said(finding.priority, finding.text, site.name) }]
        : [];
    });
  }),
  ...fleetCases.flatMap((over) =>
    fleetRules.flatMap((rule) =>
      rule
        .evaluate({ nowMs: startMs, nodes: [], server: { startedAtMs: 0 }, untaken: [], ...over })
        .flatMap((finding) =>
          finding.kind === 'holds'
            ? [{ key: rule.key, message: said(finding.priority, finding.text, '') }]
            : [],
        ),
    ),
  ),
];

function said(priority: Priority, text: AlertText, siteName: string): string {
  return callMessage({ priority, text }, siteName);
}

/** Signs and units as they are spoken. */
const SPOKEN: readonly (readonly [RegExp, string])[] = [
  // A telephone number is dialled, not read out.
  [/\+\d[\d ]{6,}\d/g, ' number '],
  [/±/g, ' plus-minus '],
  [/[−-](?=\d)/g, ' minus '],
  [/%RH/g, ' percent humidity '],
  [/%/g, ' percent '],
  [/°C/g, ' degrees Celsius '],
  [/\bWh\b/g, ' watt hours '],
  [/\bdB\b/g, ' decibels '],
  [/(\d)\.(\d)/g, '$1 point $2'],
  [/\b(\d)\d\d\b/g, '$1 hundred and more'],
  [/[^\p{L}\p{N}’-]+/gu, ' '],
];
const words = (message: string): number =>
  SPOKEN.reduce((text, [sign, spoken]) => text.replace(sign, spoken), message)
    .trim()
    .split(' ').length;

/** 150 words a minute is an ordinary pace of speech: common practice, no source. Fifteen seconds: trade, acceptance of alerts. */
const MOST_WORDS = Math.floor((15 * 150) / 60);

describe('the message of every rule', () => {
  it('is counted as it is spoken', () => {
    expect(words('Charge 17 % ± 6.')).toBe(5);
    expect(words('It is at 12.5 °C.')).toBe(8);
    expect(words('Telephone Ash (+44 1632 960001), now.')).toBe(4);
    expect(words('It draws 180 % of its usual load.')).toBe(11);
  });

  it('is rendered here, but for what is only written down', () => {
    const events = ['dark-as-designed', 'snow-probable', 'charge-blocked', 'first-light'];
    const keys = [...rules, ...fleetRules].map(({ key }) => key);
    expect(new Set([...rendered.map(({ key }) => key), ...events])).toEqual(new Set(keys));
    expect(rendered.length).toBeGreaterThan(35);
  });

  it.each(rendered.map(({ key, message }) => [key, message] as const))(
    '%s is heard in fifteen seconds, whole: %s',
    (_, message) => {
      expect(message.length).toBeLessThanOrEqual(LONGEST_MESSAGE);
      expect(message).not.toContain('…');
      expect(message).toMatch(/\. Nobody has this yet\.$/);
      expect(words(message)).toBeLessThanOrEqual(MOST_WORDS);
    },
  );
});
