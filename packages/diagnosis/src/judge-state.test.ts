import { DAY_MS, HOUR_MS, SECOND_MS, type Outlook } from '@duskline/domain';
import { describe, expect, it } from 'vitest';
import { judgeState } from './judge-state.ts';
import type { StateFacts } from './state-facts.ts';
import { gaugedAt, node, nowMs, site } from './testing-node.ts';

const chargeAt = (ratio: number) => gaugedAt(nowMs, ratio);
const facts = (over: Partial<StateFacts>): StateFacts => ({
  nowMs,
  site,
  node,
  firstHeardAtMs: nowMs - 200 * DAY_MS,
  lastHeardAtMs: nowMs - 30_000,
  lastObservedAtMs: nowMs - 30_000,
  charge: chargeAt(0.7),
  others: { expected: 19, heard: 19 },
  ...over,
});
const heardAgo = (ms: number) => ({ lastHeardAtMs: nowMs - ms, lastObservedAtMs: nowMs - ms });
const farewell = (atMs: number) =>
  ({ kind: 'farewell', atMs, reason: 'charge at the shut-down level' }) as const;

describe('the state of a node', () => {
  it('is up while it is heard and charged, and says when to look again', () => {
    const { verdict, nextCheckAtMs } = judgeState(facts({}));
    expect(verdict.state).toBe('up');
    expect(nextCheckAtMs).toBe(nowMs + HOUR_MS);
  });

  it('is low within ten points of the shut-down level', () => {
    expect(judgeState(facts({ charge: chargeAt(0.2) })).verdict.state).toBe('low');
    expect(judgeState(facts({ charge: chargeAt(0.21) })).verdict.state).toBe('up');
  });

  it('is not silent before two hours, however short the usual gap', () => {
    expect(judgeState(facts(heardAgo(HOUR_MS * 1.9))).verdict.state).toBe('up');
    expect(judgeState(facts(heardAgo(HOUR_MS * 2.1))).verdict.state).toBe('silent-unexplained');
  });

  it('is dark as designed the moment a farewell came', () => {
    const { verdict } = judgeState(
      facts({
        charge: chargeAt(0.1),
        lastWord: farewell(nowMs - 20_000),
        lastObservedAtMs: nowMs - 25_000,
      }),
    );
    expect(verdict.state).toBe('dark-as-designed');
    expect(verdict.evidence[0]).toBe(
      'Its last message said it was shutting down: charge at the shut-down level',
    );
  });

  it('is up again when readings came after the farewell', () => {
    const before = farewell(nowMs - 3 * DAY_MS);
    expect(judgeState(facts({ lastWord: before })).verdict.state).toBe('up');
  });

  it('is dark as designed without a farewell when the charge had run down to the level', () => {
    const { verdict } = judgeState(facts({ ...heardAgo(9 * HOUR_MS), charge: chargeAt(0.15) }));
    expect(verdict.state).toBe('dark-as-designed');
  });

  it('is dark as designed when the outlook foresaw it though the last charge was some way off', () => {
    const outlookBefore = {
      kind: 'empties-in',
      issuedAtMs: nowMs - 2 * DAY_MS,
      p10Days: 1.2,
    } as Outlook;
    const seen = { ...heardAgo(12 * HOUR_MS), charge: chargeAt(0.22) };
    expect(judgeState(facts({ ...seen, outlookBefore })).verdict.state).toBe('dark-as-designed');
    expect(judgeState(facts(seen)).verdict.state).toBe('silent-unexplained');
  });

  it('is overdue only after the P90 of the window issued when it went dark', () => {
    const wentDark = nowMs - 6 * DAY_MS;
    const dark = {
      lastHeardAtMs: wentDark,
      lastObservedAtMs: wentDark,
      lastWord: farewell(wentDark),
      charge: chargeAt(0.1),
    };
    const window = {
      p10Ms: nowMs - 3 * DAY_MS,
      p50Ms: nowMs - 2 * DAY_MS,
      p90Ms: nowMs + HOUR_MS / 2,
    };
    const before = judgeState(facts({ ...dark, firstWindow: window }));
    expect(before.verdict.state).toBe('dark-as-designed');
    // The days as the pages name them, and the instant at which it is called overdue.
    expect(before.verdict.settledBy).toMatch(
      /^its next message, when the charge is back at \d+ %\. Overdue means after \w{3} \d+ \w{3} \d\d:\d\d UTC[^,]*, the end of the window it was given as it went dark \(\w{3} \d+ \w{3} to \w{3} \d+ \w{3}\); the window of the latest outlook moves with the weather and calls nobody$/,
    );
    expect(before.nextCheckAtMs).toBe(window.p90Ms + 1);
    const after = judgeState(facts({ ...dark, firstWindow: { ...window, p90Ms: nowMs - 1 } }));
    expect(after.verdict.state).toBe('overdue');
    // One sentence on how the two windows relate, wherever the state is told.
    const relates = 'the end of the window it was given as it went dark';
    expect(after.verdict.settledBy).toContain(relates);
    expect(after.verdict.settledBy).toContain(
      'the window of the latest outlook moves with the weather',
    );
  });

  it('is settled by hands, not by sun, where its harvest cannot come in', () => {
    const harvestStop = {
      sinceMs: nowMs - 30 * HOUR_MS,
      cause: 'panel connector failed',
      probability: 0.97,
    };
    const low = judgeState(facts({ charge: chargeAt(0.15), harvestStop }));
    // The figure is of two causes taken together, and says so: beside it stands that of the connector alone.
    expect(low.verdict.settledBy).toBe(
      'a visit: most likely panel connector failed (connector and charger taken together: 97 %), and sun alone does not mend that',
    );
    const wentDark = nowMs - DAY_MS;
    const dark = judgeState(
      facts({
        ...heardAgo(DAY_MS),
        lastWord: farewell(wentDark),
        charge: chargeAt(0.1),
        harvestStop,
      }),
    );
    expect(dark.verdict.state).toBe('dark-as-designed');
    expect(dark.verdict.settledBy).toMatch(/^a visit: .*sun alone does not mend that$/);
  });

  it('has words for afterwards that speak of no present', () => {
    const wentDark = nowMs - 6 * DAY_MS;
    const overdue = judgeState(
      facts({
        ...heardAgo(6 * DAY_MS),
        lastWord: farewell(wentDark),
        charge: chargeAt(0.1),
        firstWindow: { p10Ms: nowMs - 3 * DAY_MS, p50Ms: nowMs - 2 * DAY_MS, p90Ms: nowMs - 1 },
      }),
    );
    for (const { verdict } of [
      judgeState(facts({})),
      judgeState(facts({ charge: chargeAt(0.15) })),
      judgeState(facts(heardAgo(9 * HOUR_MS))),
      judgeState(facts({ ...heardAgo(5 * HOUR_MS), others: { expected: 19, heard: 0 } })),
      overdue,
    ])
      expect(verdict.afterwards).not.toMatch(/\b(is|has|does|lately|now)\b/);
    expect(overdue.verdict.afterwards).toMatch(/^It stopped itself on .* and was not back by /);
  });

  it('is not judged by its past while that comes in, and is judged fifteen seconds after', () => {
    const past = { ...heardAgo(30 * HOUR_MS), charge: chargeAt(0.8) };
    const during = judgeState(facts({ ...past, lastReceivedAtMs: nowMs - 14 * SECOND_MS }));
    expect(during.verdict).toMatchObject({ state: 'up', settledBy: 'the end of what it had kept' });
    expect(during.verdict.cause).toMatch(/^It is sending right now/);
    // What it handed in is told as its readings, once that is over.
    expect(during.verdict.afterwards).toBe('Its readings of this time are there.');
    expect(during.nextCheckAtMs).toBe(nowMs + SECOND_MS);
    const after = judgeState(facts({ ...past, lastReceivedAtMs: nowMs - 15 * SECOND_MS }));
    expect(after.verdict.state).toBe('silent-unexplained');
  });

  it('is dark as designed from old words too, once its past is told', () => {
    const wentDark = nowMs - 3 * DAY_MS;
    const past = { ...heardAgo(3 * DAY_MS), lastWord: farewell(wentDark), charge: chargeAt(0.1) };
    expect(judgeState(facts({ ...past, lastReceivedAtMs: nowMs - HOUR_MS })).verdict.state).toBe(
      'dark-as-designed',
    );
  });

  it('blames our side when no other node is heard either', () => {
    const { verdict } = judgeState(
      facts({ ...heardAgo(5 * HOUR_MS), others: { expected: 19, heard: 0 } }),
    );
    expect(verdict.state).toBe('link-down');
  });

  it('is link down when the ranked causes give its link an even chance', () => {
    const silence = (probability: number) =>
      ({
        question: 'silence',
        madeAtMs: nowMs,
        causes: [
          {
            cause: 'link-one',
            name: 'its own link is down',
            probability,
            evidenceFor: ['Its signal had been falling'],
            evidenceAgainst: [],
            settledBy: 'its backlog',
          },
        ],
      }) as const;
    const quiet = { ...heardAgo(9 * HOUR_MS), charge: chargeAt(0.7) };
    expect(judgeState(facts({ ...quiet, silence: silence(0.7) })).verdict).toMatchObject({
      state: 'link-down',
      settledBy: 'its backlog',
    });
    expect(judgeState(facts({ ...quiet, silence: silence(0.4) })).verdict.state).toBe(
      'silent-unexplained',
    );
  });

  it('is not yet proved before its first message, off for work while somebody has it', () => {
    expect(judgeState({ nowMs, site, node, others: { expected: 0, heard: 0 } }).verdict.state).toBe(
      'not-yet-proved',
    );
    const work = {
      owner: 'Ines',
      fromMs: nowMs - DAY_MS,
      untilMs: nowMs + DAY_MS,
      reason: 'new mast',
    };
    expect(judgeState(facts({ node: { ...node, offForWork: work } })).verdict.state).toBe(
      'off-for-work',
    );
    expect(judgeState(facts({ node: { ...node, offForWork: work } })).verdict.afterwards).toBe(
      'Ines had it off for work: new mast.',
    );
    const over = { ...work, untilMs: nowMs - 1 };
    expect(judgeState(facts({ node: { ...node, offForWork: over } })).verdict.state).toBe('up');
  });
});
