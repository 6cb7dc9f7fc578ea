import {
  HOUR_MS,
  MINUTE_MS,
  alertId,
  nodeId,
  type Alert,
  type NodeState,
  type RuleMemory,
  type SiteId,
} from '@duskline/domain';
import { describe, expect, it } from 'vitest';
import { evaluateFleetRules } from './evaluate-fleet-rules.ts';
import type { FleetFacts, FleetNode } from './fleet-rule.ts';
import { fleetRules } from './fleet-rules/index.ts';

/** Rows 8, 23 and 24 of the rationalisation table (project choices). */
const nowMs = Date.UTC(2026, 10, 25, 9);
const make = (id: number, link: string, silentMs: number, state: NodeState = 'up'): FleetNode => ({
  nodeId: nodeId(id),
  siteId: `site-${id}` as SiteId,
  siteName: `Site ${id}`,
  state,
  link,
  lastHeardAtMs: nowMs - silentMs,
  usualGapMs: MINUTE_MS,
});
const well: FleetFacts['server'] = {
  startedAtMs: nowMs - 24 * HOUR_MS,
  intakeLagMs: 200,
  oldestOutlookAgeMs: HOUR_MS,
};
const facts = (over: Partial<FleetFacts>): FleetFacts => ({
  nowMs,
  nodes: [1, 2, 3, 4, 5].map((id) => make(id, id < 4 ? 'Moornet' : 'Dalecall', 30_000)),
  server: well,
  untaken: [],
  ...over,
});
const run = (given: FleetFacts, open: readonly Alert[] = [], memory: readonly RuleMemory[] = []) =>
  evaluateFleetRules(fleetRules, given, { open, memory });
const opened = (given: FleetFacts) =>
  run(given).changes.map((change) =>
    change.kind === 'open' ? `${change.rule}:${change.subject ?? ''}` : change.kind,
  );

const moornetDown = [
  make(1, 'Moornet', 50 * MINUTE_MS),
  make(2, 'Moornet', 52 * MINUTE_MS),
  make(3, 'Moornet', 65 * MINUTE_MS),
  make(4, 'Dalecall', 30_000),
  make(5, 'Dalecall', 30_000),
];

describe('the rules about the fleet', () => {
  it('find nothing while all is well', () => {
    expect(opened(facts({}))).toEqual([]);
  });

  it('give one alert for a shared link, and quiet its sites', () => {
    const { changes, covering } = run(facts({ nodes: moornetDown }));
    expect(changes).toHaveLength(1);
    expect(changes[0]).toMatchObject({
      kind: 'open',
      rule: 'shared-link-down',
      subject: 'Moornet',
      priority: 'P2',
    });
    expect([...covering.keys()].sort()).toEqual([1, 2, 3]);
  });

  it('do not blame a link for two sites, for sites that fell silent a day apart, or for sites dark as designed', () => {
    const two = moornetDown.map((node) =>
      node.nodeId === nodeId(3) ? make(3, 'Moornet', 1000) : node,
    );
    expect(opened(facts({ nodes: two }))).toEqual([]);
    const apart = moornetDown.map((node) =>
      node.nodeId === nodeId(3) ? make(3, 'Moornet', 26 * HOUR_MS) : node,
    );
    expect(opened(facts({ nodes: apart }))).toEqual([]);
    const dark = moornetDown.map((node) =>
      node.nodeId === nodeId(3) ? { ...node, state: 'dark-as-designed' as const } : node,
    );
    expect(opened(facts({ nodes: dark }))).toEqual([]);
  });

  it('end the link’s alert when two of its sites are heard again', () => {
    const open: Alert = {
      id: alertId('0-1'),
      nodeId: nodeId(0),
      siteId: '' as SiteId,
      rule: 'shared-link-down',
      subject: 'Moornet',
      priority: 'P2',
      state: 'new',
      openedAtMs: nowMs - HOUR_MS,
      text: { sentence: '', figures: '', byWhen: '', todo: '', bring: '', cautions: [] },
    };
    expect(run(facts({}), [open]).changes).toMatchObject([{ kind: 'end', id: '0-1' }]);
  });

  describe('in bad weather for many', () => {
    // Row 2 of the table: P ≥ 60 % within five days; cleared below 40 %.
    const chances = (p: number): Partial<FleetNode> => ({
      ahead: {
        darkWithin3DaysProbability: p / 2,
        darkWithin7DaysProbability: p,
        darkWithin14DaysProbability: p,
      },
    });
    const sky = (...given: readonly Partial<FleetNode>[]) =>
      facts({
        nodes: [1, 2, 3, 4, 5].map((id, i) => ({ ...make(id, '', 30_000), ...given[i] })),
      });
    const open: Alert = {
      id: alertId('0-7'),
      nodeId: nodeId(0),
      siteId: '' as SiteId,
      rule: 'bad-weather',
      priority: 'P3',
      state: 'new',
      openedAtMs: nowMs - HOUR_MS,
      text: { sentence: '', figures: '', byWhen: '', todo: '', bring: '', cautions: [] },
    };

    it('give one alert for all it takes down, and quiet them', () => {
      // Within five days, halfway between the third and the seventh: 0.5 × (0.45 + 0.9) = 0.68, and so on.
      const { changes, covering } = run(sky(chances(0.9), chances(1), chances(0.85), chances(0.5)));
      expect(changes).toMatchObject([
        {
          kind: 'open',
          rule: 'bad-weather',
          priority: 'P3',
          text: {
            sentence: '3 sites will likely stop within 5 days for want of sun.',
            figures: 'Site 2 75 %, Site 1 68 %, Site 3 64 %; 3 of 5 sites that are heard.',
          },
        },
      ]);
      expect([...covering]).toEqual([
        [2, ['bad-weather']],
        [1, ['bad-weather']],
        [3, ['bad-weather']],
      ]);
    });

    it('leave a site its own call that runs down for its own reason, or whose darkness is accepted', () => {
      expect(opened(sky(chances(0.9), chances(0.9)))).toEqual([]);
      const faulty = { ...chances(0.9), openRules: ['charging-fault'] };
      expect(opened(sky(chances(0.9), chances(0.9), faulty))).toEqual([]);
      const accepted = { ...chances(0.9), isAcceptedDark: true };
      expect(opened(sky(chances(0.9), chances(0.9), accepted))).toEqual([]);
      const dark = { ...chances(0.9), state: 'dark-as-designed' as const };
      expect(opened(sky(chances(0.9), chances(0.9), dark))).toEqual([]);
      // A wrong clock empties no battery.
      const unset = { ...chances(0.9), openRules: ['clock-wrong'] };
      expect(opened(sky(chances(0.9), chances(0.9), unset))).toEqual(['bad-weather:']);
    });

    it('go on covering between their limits while the alert is open, and end when too few are left', () => {
      const between = sky(chances(0.7), chances(0.7), chances(0.7));
      expect(run(between).covering.size).toBe(0);
      const stays = run(between, [open]);
      expect(stays.changes).toEqual([]);
      expect([...stays.covering.keys()].sort()).toEqual([1, 2, 3]);
      const better = sky(chances(0.7), chances(0.7), chances(0.3));
      const once = run(better, [open]);
      expect(once.changes).toEqual([]);
      expect(run(better, [open], once.memory).changes).toMatchObject([{ kind: 'end', id: '0-7' }]);
    });

    it('are for today where one may stop within two days', () => {
      const soon = {
        ahead: {
          darkWithin3DaysProbability: 0.95,
          darkWithin7DaysProbability: 1,
          darkWithin14DaysProbability: 1,
        },
      };
      expect(run(sky(chances(0.9), chances(0.9), soon)).changes).toMatchObject([
        { rule: 'bad-weather', priority: 'P2' },
      ]);
    });
  });

  it('say that the fault is ours after two looks a minute apart, and quiet everybody', () => {
    const nodes = [1, 2, 3, 4].map((id) => make(id, 'Moornet', 40 * MINUTE_MS));
    const first = run(facts({ nodes }));
    expect(first.changes).toEqual([]);
    expect(first.covering.size).toBe(4);
    const second = run(facts({ nodes, nowMs: nowMs + 2 * MINUTE_MS }), [], first.memory);
    expect(second.changes).toMatchObject([{ rule: 'not-ours', priority: 'P1' }]);
  });

  it('blame nobody for what was not heard before the server was there to hear', () => {
    const nodes = [1, 2, 3, 4].map((id) => make(id, 'Moornet', 40 * MINUTE_MS));
    const young = { ...well, startedAtMs: nowMs - 5 * MINUTE_MS };
    expect(
      run(facts({ nodes, server: young })).memory.some(({ rule }) => rule === 'not-ours'),
    ).toBe(false);
  });

  it.each([
    ['a late intake', { intakeLagMs: 11 * MINUTE_MS }],
    ['an old outlook', { oldestOutlookAgeMs: 27 * HOUR_MS }],
    ['unsent messages', { oldestUnsentMs: 16 * MINUTE_MS }],
    ['a lost database', { databaseDown: true }],
  ])('count %s as ours', (_name, fault) => {
    const first = run(facts({ server: { ...well, ...fault } }));
    expect(first.memory.map(({ rule }) => rule)).toContain('not-ours');
  });

  it('warn of a gap in the rota, and of alerts nobody takes in their time', () => {
    expect(
      opened(
        facts({ rotaGap: { fromMs: nowMs + 24 * HOUR_MS, says: 'Thu 18:00 to Fri 08:00 UTC' } }),
      ),
    ).toEqual(['nobody-coming:rota']);
    const waiting = (priority: 'P1' | 'P2' | 'P3', wakingMs: number) =>
      opened(
        facts({
          untaken: [{ alert: { id: alertId('4-7'), priority }, siteName: 'Withy Weir', wakingMs }],
        }),
      );
    expect(waiting('P1', 16 * MINUTE_MS)).toEqual(['nobody-coming:4-7']);
    expect(waiting('P1', 14 * MINUTE_MS)).toEqual([]);
    expect(waiting('P2', 4.1 * HOUR_MS)).toEqual(['nobody-coming:4-7']);
    expect(waiting('P3', 90 * HOUR_MS)).toEqual([]);
  });
});
