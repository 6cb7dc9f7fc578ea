import {
  DAY_MS,
  HOUR_MS,
  MINUTE_MS,
  type MetricKey,
  type Outlook,
  type RuleMemory,
} from '@duskline/domain';
import { describe, expect, it } from 'vitest';
import { evaluateRules } from '../evaluate-rules.ts';
import type { RuleFacts } from '../rule.ts';
import {
  charge,
  figures,
  likely,
  node,
  outlook,
  outOfReach,
  play,
  site,
  startMs,
  verdict,
  type Given,
} from '../testing.ts';
import { rules } from './index.ts';

/** Conditions, delays and quiet cases of the rationalisation table (project choices of the trade document, common practice). */
interface Case {
  readonly fires: Given;
  /** Near it, and rightly silent. */
  readonly silent: Given;
  /** What the fires case becomes when the cause is gone. */
  readonly over: Given;
}

const cases: Readonly<Record<string, Case>> = {
  'charge-low': {
    fires: { charge: charge(0.15) },
    silent: { charge: charge(0.15), acceptedGap: { untilMs: startMs + 90 * DAY_MS, by: 'Ines' } },
    over: { charge: charge(0.5) },
  },
  'forecast-low': {
    fires: { outlook: outlook(0.8) },
    silent: { outlook: outlook(0.5) },
    over: { outlook: outlook(0.1) },
  },
  overdue: {
    fires: { verdict: verdict('overdue'), brightHoursOverdue: 6 },
    silent: { verdict: verdict('overdue'), brightHoursOverdue: 6, power: likely('snow') },
    over: {},
  },
  'restart-out-of-reach': {
    fires: { verdict: verdict('dark-as-designed'), outlook: outOfReach },
    silent: {
      verdict: verdict('dark-as-designed'),
      outlook: { kind: 'insufficient-data' } as Outlook,
    },
    over: {},
  },
  'silent-unexplained': {
    fires: { verdict: verdict('silent-unexplained') },
    silent: { verdict: verdict('silent-unexplained'), fleetRules: ['shared-link-down'] },
    over: {},
  },
  tamper: {
    fires: {
      lastHeardAtMs: startMs - 40 * MINUTE_MS,
      housekeeping: { tamper: { atMs: startMs - 50 * MINUTE_MS, says: 'Panel to 0 V' } },
    },
    silent: {
      visitUnderWay: true,
      lastHeardAtMs: startMs - 40 * MINUTE_MS,
      housekeeping: { tamper: { atMs: startMs - 50 * MINUTE_MS, says: 'Box opened' } },
    },
    over: {},
  },
  'data-cap': {
    fires: {
      housekeeping: {
        data: {
          usedBytes: 9e7,
          expectedBytes: 1.1e8,
          capBytes: 1e8,
          renewsAtMs: startMs + 5 * DAY_MS,
        },
      },
    },
    silent: {
      housekeeping: {
        data: {
          usedBytes: 5e7,
          expectedBytes: 9e7,
          capBytes: 1e8,
          renewsAtMs: startMs + 5 * DAY_MS,
        },
      },
    },
    over: {
      housekeeping: {
        data: {
          usedBytes: 1e6,
          expectedBytes: 5e7,
          capBytes: 1e8,
          renewsAtMs: startMs + 25 * DAY_MS,
        },
      },
    },
  },
  'charging-fault': {
    fires: { figures: figures({ badDays: 2, goodDays: 0 }), power: likely('connector') },
    silent: { figures: figures({ badDays: 3, goodDays: 0 }), power: likely('too-cold') },
    over: { figures: figures({}) },
  },
  'yield-loss': {
    fires: { figures: figures({ yieldChange: 0.7 }), power: likely('soiling') },
    silent: { figures: figures({ yieldChange: 0.7 }), power: likely('snow') },
    over: { figures: figures({ yieldChange: 0.97 }) },
  },
  'battery-temperature': {
    fires: { readings: { batt_temp: -3, batt_i: 1.2 } },
    silent: { readings: { batt_temp: -3, batt_i: 0 } },
    over: { readings: { batt_temp: 8, batt_i: 1.2 } },
  },
  'load-abnormal': {
    fires: { figures: figures({ loadChange: 1.8, recentLoadW: 2.7, usualLoadW: 1.5 }) },
    silent: {
      figures: figures({ loadChange: 1.8 }),
      housekeeping: {
        settingsRequest: { requestedAtMs: startMs + 9 * DAY_MS, inForce: true, says: '' },
      },
    },
    over: { figures: figures({ loadChange: 1 }) },
  },
  'battery-ageing': {
    fires: { figures: figures({ capacityShare: 0.6, capacityCycles: 3 }) },
    silent: { figures: figures({ capacityShare: 0.6, capacityCycles: 1 }) },
    over: { figures: figures({ capacityShare: 0.95, capacityCycles: 4 }) },
  },
  'sensor-fault': {
    fires: {
      housekeeping: { sensors: [{ metric: 'air_temp', badShare: 0.5, why: 'flat for 9 h' }] },
    },
    silent: { housekeeping: { sensors: [{ metric: 'air_temp', badShare: 0.1, why: 'spikes' }] } },
    over: { housekeeping: { sensors: [{ metric: 'air_temp', badShare: 0, why: '' }] } },
  },
  'clock-wrong': {
    fires: { housekeeping: { clockOffsetS: 240 } },
    silent: { housekeeping: { clockOffsetS: 240, sendsRelativeTimes: true } },
    over: { housekeeping: { clockOffsetS: 1 } },
  },
  'storage-full': {
    fires: { housekeeping: { storageDaysToFull: 10 } },
    silent: { housekeeping: { storageDaysToFull: 30 } },
    over: { housekeeping: { storageDaysToFull: 90 } },
  },
  'repeated-restarts': {
    fires: { housekeeping: { bootsIn24h: 4 } },
    silent: { housekeeping: { bootsIn24h: 4 }, visitUnderWay: true },
    over: { housekeeping: { bootsIn24h: 0 } },
  },
  'box-climate': {
    fires: { figures: figures({ boxRhDayMeanPercent: 96 }) },
    silent: { figures: figures({ boxRhDayMeanPercent: 88 }) },
    over: { figures: figures({ boxRhDayMeanPercent: 50 }) },
  },
  'signal-failing': {
    fires: { housekeeping: { signalChangeDb: -9 } },
    silent: { housekeeping: { signalChangeDb: -4 } },
    over: { housekeeping: { signalChangeDb: 0 } },
  },
  'settings-not-in-force': {
    fires: {
      housekeeping: {
        settingsRequest: {
          requestedAtMs: startMs - 4 * DAY_MS,
          firstContactAtMs: startMs - 3 * DAY_MS,
          inForce: false,
          says: 'Log every 5 min',
        },
      },
    },
    silent: {
      housekeeping: {
        settingsRequest: {
          requestedAtMs: startMs - 4 * DAY_MS,
          inForce: false,
          says: 'Log every 5 min',
        },
      },
    },
    over: {
      housekeeping: {
        settingsRequest: { requestedAtMs: startMs - 4 * DAY_MS, inForce: true, says: '' },
      },
    },
  },
};
const events: Readonly<Record<string, { readonly fires: Given; readonly silent: Given }>> = {
  'dark-as-designed': {
    fires: { verdict: verdict('dark-as-designed') },
    silent: { verdict: verdict('silent-unexplained') },
  },
  'snow-probable': { fires: { power: likely('snow') }, silent: { power: likely('snow', 0.3) } },
  'charge-blocked': {
    fires: { power: likely('too-cold') },
    silent: { power: likely('nothing-wrong') },
  },
  'first-light': {
    fires: {
      readings: { uptime: 300 },
      charge: charge(0.6),
      housekeeping: { darkness: { fromMs: startMs - 2 * DAY_MS } },
    },
    // A start at any charge, with no darkness before it.
    silent: { readings: { uptime: 300 }, charge: charge(0.6), housekeeping: {} },
  },
};

describe('every rule', () => {
  it('has a firing and a silent case here', () => {
    expect([...Object.keys(cases), ...Object.keys(events)].sort()).toEqual(
      rules.map(({ key }) => key).sort(),
    );
    expect(rules).toHaveLength(23);
  });

  it.each(Object.entries(cases))(
    '%s fires once, is silent beside it, and ends',
    (key, { fires, silent, over }) => {
      const days = 9;
      expect(play([{ days, given: fires }]).opened.filter((rule) => rule === key)).toEqual([key]);
      expect(play([{ days, given: silent }]).opened).not.toContain(key);
      expect(
        play([
          { days, given: fires },
          { days: 16, given: over },
        ]).open,
      ).not.toContain(key);
    },
  );

  it.each(Object.entries(events))(
    '%s is recorded once and opens no alert',
    (key, { fires, silent }) => {
      const fired = play([{ days: 3, given: fires }]);
      expect(fired.recorded).toEqual([key]);
      expect(fired.opened).toEqual([]);
      expect(play([{ days: 3, given: silent }]).recorded).not.toContain(key);
    },
  );

  it('is quiet, all but the dangerous ones, while the node is off for work', () => {
    for (const [key, { fires }] of Object.entries(cases)) {
      const { opened } = play([{ days: 9, given: { ...fires, verdict: verdict('off-for-work') } }]);
      expect({ key, opened }).toEqual({
        key,
        opened: key === 'battery-temperature' || key === 'box-climate' ? [key] : [],
      });
    }
  });

  it('gives one call for one cause: what follows joins what was first', () => {
    const { opened, joins } = play([
      {
        days: 2,
        given: { figures: figures({ badDays: 3, goodDays: 0 }), power: likely('connector') },
      },
      {
        days: 2,
        given: {
          figures: figures({ badDays: 3, goodDays: 0 }),
          power: likely('connector'),
          outlook: outlook(0.9),
        },
      },
      {
        days: 2,
        given: {
          figures: figures({ badDays: 3, goodDays: 0 }),
          power: likely('connector'),
          outlook: outlook(0.9),
          charge: charge(0.14),
        },
      },
    ]);
    expect(opened).toEqual(['charging-fault', 'forecast-low', 'charge-low']);
    expect(joins).toEqual(['forecast-low', 'charge-low']);
  });

  it('keeps the call of a fault through the darkness it brings: charge low, dark, overdue are one call', () => {
    const fault = { figures: figures({ badDays: 2, goodDays: 0 }), power: likely('connector') };
    const low = { ...fault, figures: figures({ badDays: 1, goodDays: 1 }), charge: charge(0.14) };
    const { opened, joins, open } = play([
      { days: 1, given: low },
      { days: 3, given: { ...fault, verdict: verdict('dark-as-designed') } },
      { days: 3, given: { ...fault, verdict: verdict('overdue'), brightHoursOverdue: 20 } },
    ]);
    expect(opened).toEqual(['charge-low', 'charging-fault', 'overdue']);
    expect(joins).toEqual(['charging-fault', 'overdue']);
    expect(open).toContain('charge-low');
    // Dark by its own design it is quiet, and late it is a call of its own.
    const plain = play([
      { days: 1, given: { charge: charge(0.14) } },
      { days: 3, given: { verdict: verdict('dark-as-designed') } },
      { days: 3, given: { verdict: verdict('overdue'), brightHoursOverdue: 20 } },
    ]);
    expect(plain.opened).toEqual(['charge-low', 'overdue']);
    expect(plain.joins).toEqual([]);
  });

  it('an aged battery joins the call of the site that it empties', () => {
    const weak = { figures: figures({ capacityShare: 0.5, capacityCycles: 3 }) };
    const { opened, joins } = play([
      { days: 1, given: { outlook: outlook(0.9) } },
      { days: 4, given: { ...weak, outlook: outlook(0.9) } },
    ]);
    expect(opened).toEqual(['forecast-low', 'battery-ageing']);
    expect(joins).toEqual(['battery-ageing']);
  });

  it('yield loss sees dirt that comes slowly against the clean panel, and takes no season for dirt', () => {
    const slow = figures({ yieldChange: 0.9, yieldAgainstBest: 0.7 });
    const opened = (cause: Parameters<typeof likely>[0]) =>
      play([{ days: 9, given: { figures: slow, power: likely(cause) } }]).opened;
    expect(opened('soiling')).toEqual(['yield-loss']);
    expect(opened('nothing-wrong')).toEqual([]);
  });

  it('charge low waits after a first light: a node whose levels lie close comes back low', () => {
    const back = { charge: charge(0.14), readings: { uptime: 300 } };
    const darkness = { fromMs: startMs - DAY_MS, endedAtMs: startMs };
    const given = { ...back, housekeeping: { darkness } };
    expect(play([{ days: 0.2, given }]).opened).toEqual([]);
    expect(play([{ days: 1, given }]).opened).toEqual(['charge-low']);
  });

  it('first light is told of a darkness that just ended, not of a link that came back', () => {
    const told = (uptimeS: number, endedAtMs?: number) =>
      play([
        {
          days: 1,
          given: {
            readings: { uptime: uptimeS },
            housekeeping: {
              darkness: {
                fromMs: startMs - DAY_MS,
                ...(endedAtMs === undefined ? {} : { endedAtMs }),
              },
            },
          },
        },
      ]).recorded;
    expect(told(300, startMs - HOUR_MS)).toEqual(['first-light']);
    expect(told(300, startMs - 7 * HOUR_MS)).toEqual([]);
    expect(told((9 * DAY_MS) / 1000)).toEqual([]);
  });

  it('does not judge by readings older than two hours', () => {
    const old = { readings: { batt_temp: -3, batt_i: 1.2 } };
    const facts = (observedAtMs: number, nowMs: number): RuleFacts => ({
      nowMs,
      site,
      node,
      verdict: verdict('up'),
      latest: Object.entries(old.readings).map(([metric, value]) => ({
        metric: metric as MetricKey,
        observedAtMs,
        value,
      })),
    });
    let memory: readonly RuleMemory[] = [];
    for (let i = 0; i < 20; i++) {
      const nowMs = startMs + i * HOUR_MS;
      const run = evaluateRules(rules, facts(nowMs - 2.1 * HOUR_MS, nowMs), { open: [], memory });
      memory = run.memory;
      expect(run.changes).toEqual([]);
    }
  });

  it('takes a setting in place of its default, within its limits', () => {
    const given: Given = { charge: charge(0.25) };
    expect(play([{ days: 1, given }]).opened).toEqual([]);
    const settings = { 'charge-low': { raiseAbovePoints: 20, clearAbovePoints: 25 } };
    expect(play([{ days: 1, given: { ...given, settings } }]).opened).toEqual(['charge-low']);
    const absurd = { 'charge-low': { raiseAbovePoints: 900 } };
    expect(play([{ days: 1, given: { charge: charge(0.7), settings: absurd } }]).opened).toEqual(
      [],
    );
  });
});
