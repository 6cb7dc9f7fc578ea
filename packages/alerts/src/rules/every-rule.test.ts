import { DAY_MS, HOUR_MS, type MetricKey, type RuleMemory } from '@duskline/domain';
import { describe, expect, it } from 'vitest';
import { evaluateRules } from '../evaluate-rules.ts';
import type { RuleFacts } from '../rule.ts';
import {
  charge,
  figures,
  likely,
  node,
  outlook,
  play,
  site,
  startMs,
  verdict,
  type Given,
} from '../testing.ts';
import { rules } from './index.ts';
import { usualCases } from './usual-cases.ts';

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
    expect([...Object.keys(usualCases), ...Object.keys(events)].sort()).toEqual(
      rules.map(({ key }) => key).sort(),
    );
    expect(rules).toHaveLength(23);
  });

  it.each(Object.entries(usualCases))(
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
    for (const [key, { fires }] of Object.entries(usualCases)) {
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
