import {
  HOUR_MS,
  MINUTE_MS,
  alertId,
  type Alert,
  type AlertChange,
  type ChargeEstimate,
  type NodeState,
  type Outlook,
  type RuleMemory,
} from '@duskline/domain';
import { describe, expect, it } from 'vitest';
import { evaluateRules } from './evaluate-rules.ts';
import type { RuleFacts } from './rule.ts';
import { rules } from './rules/index.ts';
import { likely, node, site } from './testing.ts';

const startMs = Date.UTC(2026, 10, 25, 7);

/** Plays one node through the rules as the pipeline would, keeping alerts and memory as the store would. */
function play() {
  let open: Alert[] = [];
  let memory: readonly RuleMemory[] = [];
  return (
    over: Partial<RuleFacts> & {
      nowMs: number;
      state?: NodeState;
      lowRatio?: number;
      p?: readonly [number, number, number];
    },
  ) => {
    const { nowMs, state = 'up', lowRatio = 0.6, p = [0, 0, 0], ...rest } = over;
    const charge: ChargeEstimate = {
      ratio: lowRatio + 0.04,
      lowRatio,
      highRatio: lowRatio + 0.08,
      method: 'gauge',
      observedAtMs: nowMs,
    };
    const outlook = {
      kind: 'empties-in',
      issuedAtMs: nowMs,
      p10Days: 1.5,
      p50Days: 3,
      p90Days: 4.5,
      darkWithin3DaysProbability: p[0],
      darkWithin7DaysProbability: p[1],
      darkWithin14DaysProbability: p[2],
      drivers: { harvestWhPerDay: 6.2, loadWhPerDay: 24, reserveWh: 40 },
    } as unknown as Outlook;
    const run = evaluateRules(
      rules,
      {
        nowMs,
        site,
        node,
        verdict: { state, sinceMs: nowMs, cause: '', evidence: [] },
        charge,
        outlook,
        lastHeardAtMs: nowMs,
        ...rest,
      },
      { open, memory },
    );
    memory = run.memory;
    for (const change of run.changes) open = keep(open, change, nowMs);
    return run.changes.map((change) =>
      change.kind === 'open' ? `open ${change.rule} ${change.priority}` : change.kind,
    );
  };
}

function keep(open: Alert[], change: AlertChange, nowMs: number): Alert[] {
  if (change.kind === 'end') return open.filter((alert) => alert.id !== change.id);
  if (change.kind === 'update')
    return open.map((alert) =>
      alert.id === change.id ? { ...alert, priority: change.priority, text: change.text } : alert,
    );
  const { rule, priority, text } = change;
  return [
    ...open,
    {
      id: alertId(rule),
      nodeId: node.id,
      siteId: site.id,
      rule,
      priority,
      state: 'new',
      openedAtMs: nowMs,
      text,
    },
  ];
}

describe('charge low now', () => {
  it('waits half an hour before it tells anybody, and ends an hour after the charge is back past the deadband', () => {
    const at = play();
    expect(at({ nowMs: startMs, lowRatio: 0.2 })).toEqual([]);
    expect(at({ nowMs: startMs + 29 * MINUTE_MS, lowRatio: 0.19 })).toEqual([]);
    expect(at({ nowMs: startMs + 30 * MINUTE_MS, lowRatio: 0.19 })).toEqual(['open charge-low P2']);
    // Inside the deadband nothing moves.
    expect(at({ nowMs: startMs + 2 * HOUR_MS, lowRatio: 0.23 })).toEqual([]);
    expect(at({ nowMs: startMs + 3 * HOUR_MS, lowRatio: 0.3 })).toEqual([]);
    expect(at({ nowMs: startMs + 4 * HOUR_MS, lowRatio: 0.3 })).toEqual(['end']);
  });

  it('does not count a dip that was over before the delay', () => {
    const at = play();
    at({ nowMs: startMs, lowRatio: 0.2 });
    at({ nowMs: startMs + 10 * MINUTE_MS, lowRatio: 0.3 });
    expect(at({ nowMs: startMs + 35 * MINUTE_MS, lowRatio: 0.2 })).toEqual([]);
  });

  it('never speaks from readings older than two hours', () => {
    const at = play();
    const stale: ChargeEstimate = {
      ratio: 0.15,
      lowRatio: 0.11,
      highRatio: 0.19,
      method: 'gauge',
      observedAtMs: startMs - 3 * HOUR_MS,
    };
    at({ nowMs: startMs, charge: stale });
    expect(at({ nowMs: startMs + HOUR_MS, charge: stale })).toEqual([]);
  });

  it('ends without waiting once the node is dark as designed: nobody can save its load any more', () => {
    const at = play();
    at({ nowMs: startMs, lowRatio: 0.15 });
    at({ nowMs: startMs + 30 * MINUTE_MS, lowRatio: 0.14 });
    expect(
      at({ nowMs: startMs + 40 * MINUTE_MS, state: 'dark-as-designed', lowRatio: 0.1 }),
    ).toEqual(['end']);
  });
});

describe('forecast to reach the shut-down level', () => {
  it('is brought up to date when its cause becomes known, though its sentence and figures stay', () => {
    const at = play();
    at({ nowMs: startMs, p: [0.7, 0.85, 0.9] });
    expect(at({ nowMs: startMs + HOUR_MS, p: [0.7, 0.85, 0.9] })).toEqual(['open forecast-low P3']);
    const power = likely('connector', 0.8);
    const later = { p: [0.7, 0.85, 0.9] as const, power };
    expect(at({ nowMs: startMs + HOUR_MS, ...later })).toEqual(['update']);
    expect(at({ nowMs: startMs + HOUR_MS, ...later })).toEqual([]);
  });

  it('needs two runs at 60 % within five days, is urgent when it is a matter of two days, and updates rather than repeats', () => {
    const at = play();
    // Within 5 days, linear between day 3 (0.4) and day 7 (0.9): 0.65.
    expect(at({ nowMs: startMs, p: [0.4, 0.9, 1] })).toEqual([]);
    expect(at({ nowMs: startMs + HOUR_MS, p: [0.4, 0.9, 1] })).toEqual(['open forecast-low P3']);
    // Within 2 days, two thirds of the way to day 3 (0.95): 0.63.
    expect(at({ nowMs: startMs + 2 * HOUR_MS, p: [0.95, 1, 1] })).toEqual(['update']);
  });

  it('does not count the same outlook twice', () => {
    const at = play();
    const outlook = {
      kind: 'empties-in',
      issuedAtMs: startMs,
      p10Days: 1,
      p50Days: 2,
      p90Days: 3,
      darkWithin3DaysProbability: 0.9,
      darkWithin7DaysProbability: 1,
      darkWithin14DaysProbability: 1,
      drivers: { harvestWhPerDay: 1, loadWhPerDay: 24, reserveWh: 30 },
    } as unknown as Outlook;
    at({ nowMs: startMs, outlook });
    expect(at({ nowMs: startMs + MINUTE_MS, outlook })).toEqual([]);
    expect(
      at({ nowMs: startMs + HOUR_MS, outlook: { ...outlook, issuedAtMs: startMs + HOUR_MS } }),
    ).toEqual(['open forecast-low P2']);
  });

  it('clears below 40 % after two runs, and between the limits stays', () => {
    const at = play();
    at({ nowMs: startMs, p: [0.7, 0.9, 1] });
    at({ nowMs: startMs + HOUR_MS, p: [0.7, 0.9, 1] });
    expect(at({ nowMs: startMs + 2 * HOUR_MS, p: [0.4, 0.6, 1] })).toEqual([]);
    expect(at({ nowMs: startMs + 3 * HOUR_MS, p: [0.1, 0.3, 1] })).toEqual([]);
    expect(at({ nowMs: startMs + 4 * HOUR_MS, p: [0.1, 0.3, 1] })).toEqual(['end']);
  });

  it('is quiet while the node is already dark', () => {
    const at = play();
    at({ nowMs: startMs, p: [1, 1, 1], state: 'dark-as-designed' });
    expect(at({ nowMs: startMs + HOUR_MS, p: [1, 1, 1], state: 'dark-as-designed' })).toEqual([]);
  });
});

describe('silent, unexplained', () => {
  it('is raised after a minute, and ends at the second message', () => {
    const at = play();
    expect(at({ nowMs: startMs - MINUTE_MS, state: 'silent-unexplained' })).toEqual([]);
    expect(at({ nowMs: startMs, state: 'silent-unexplained' })).toEqual([
      'open silent-unexplained P2',
    ]);
    expect(at({ nowMs: startMs + HOUR_MS, state: 'up' })).toEqual([]);
    expect(at({ nowMs: startMs + HOUR_MS + MINUTE_MS, state: 'up' })).toEqual(['end']);
  });

  it('is never raised for a node that is dark as designed, off for work or behind a dead link', () => {
    const at = play();
    for (const state of ['dark-as-designed', 'off-for-work', 'link-down', 'retired'] as const)
      expect(at({ nowMs: startMs, state })).toEqual([]);
  });

  it('tells what, by when, what to do, what to bring, with the cautions of a lithium battery', () => {
    const run = evaluateRules(
      rules,
      {
        nowMs: startMs,
        site,
        node,
        verdict: {
          state: 'silent-unexplained',
          sinceMs: startMs,
          cause: '',
          evidence: ['x', 'it said no farewell'],
        },
        lastHeardAtMs: startMs - 3 * HOUR_MS,
      },
      { open: [], memory: [{ rule: 'silent-unexplained', holdingSinceMs: startMs - MINUTE_MS }] },
    );
    const [change] = run.changes;
    if (change?.kind !== 'open') throw new Error('no alert was opened');
    expect(change.text.sentence).toBe('Thornhow is silent; its charge does not explain it.');
    expect(change.text.figures).toContain('Last heard Wed 25 Nov 04:00');
    expect(change.text.cautions.join(' ')).toMatch(/never charge it below 0 °C/);
    expect(change.text.bring).not.toBe('');
  });
});

describe('one cause, one call', () => {
  it('opens one alert of a group in one look; the next joins it', () => {
    const look = play();
    const first = [0, 31, 62].flatMap((minutes) =>
      look({ nowMs: startMs + minutes * MINUTE_MS, lowRatio: 0.12, p: [0.9, 0.95, 0.99] }),
    );
    // Two looks at the forecast, half an hour of low charge: both are due in the second look.
    expect(first).toEqual(['open charge-low P2', 'open forecast-low P2']);
  });

  it('does not call again when a board out of its habit falls silent', () => {
    const silence = {
      question: 'silence',
      madeAtMs: startMs,
      causes: [
        {
          cause: 'awake-pattern',
          name: 'hung',
          probability: 0.8,
          evidenceFor: [],
          evidenceAgainst: [],
          settledBy: 'a restart',
        },
      ],
    } as const;
    const looksAt = (nowMs: number, open: readonly Alert[], memory: readonly RuleMemory[]) =>
      evaluateRules(
        rules,
        {
          nowMs,
          site,
          node,
          verdict: { state: 'silent-unexplained', sinceMs: startMs, cause: '', evidence: [] },
          lastHeardAtMs: startMs - 3 * HOUR_MS,
          silence,
        },
        { open, memory },
      );
    const awake = { id: alertId('4-1'), rule: 'load-abnormal', state: 'new' } as unknown as Alert;
    const { memory } = looksAt(startMs, [awake], []);
    const { changes } = looksAt(startMs + 2 * MINUTE_MS, [awake], memory);
    expect(changes).toMatchObject([{ kind: 'open', rule: 'silent-unexplained', joins: '4-1' }]);
  });
});
