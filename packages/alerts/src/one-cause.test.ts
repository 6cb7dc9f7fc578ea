import { DAY_MS, MINUTE_MS } from '@duskline/domain';
import { describe, expect, it } from 'vitest';
import { fleetRules } from './fleet-rules/index.ts';
import { causeChains, pairsApart } from './one-cause.ts';
import { rules } from './rules/index.ts';
import { charge, figures, likely, outlook, play, startMs, verdict, type Given } from './testing.ts';

const silentFor = (cause: Parameters<typeof likely>[0]): Given => ({
  verdict: verdict('silent-unexplained'),
  silence: { ...likely(cause), question: 'silence' },
});
const aged = { capacityShare: 0.42, capacityCycles: 3 };

describe('pairs of rules', () => {
  it('are all looked at: one cause, one cause under a condition, or apart for a reason', () => {
    const keys = [...rules, ...fleetRules].map(({ key }) => key);
    const isIn = (list: readonly string[], key: string) => list.includes(key);
    const unread = keys.flatMap((a, i) =>
      keys.slice(i + 1).flatMap((b) => {
        const chained = causeChains.some(
          ({ begins, follows }) =>
            (isIn(follows, a) && isIn([...begins, ...follows], b)) ||
            (isIn(follows, b) && isIn(begins, a)),
        );
        const apart = pairsApart.some(
          ({ these, those }) =>
            (isIn(these, a) && isIn(those, b)) || (isIn(these, b) && isIn(those, a)),
        );
        return chained || apart ? [] : [`${a} + ${b}`];
      }),
    );
    expect(unread).toEqual([]);
    for (const { because } of pairsApart) expect(because.length).toBeGreaterThan(20);
  });

  /** What opens second, with what is found at first and afterwards; both true at once. */
  const second = (first: Given, then: Given, days: readonly [number, number] = [4, 4]) => {
    const { opened, joins } = play([
      { days: days[0], given: first },
      { days: days[1], given: { ...first, ...then } },
    ]);
    return { opened, joins };
  };

  // Sources of what goes together: table of the rules and signatures of faults, common practice, no source.
  it.each<[string, Given, Given, string[]]>([
    [
      'an aged battery, and the stop it brings near',
      { figures: figures(aged) },
      { outlook: outlook(0.9) },
      ['battery-ageing', 'forecast-low'],
    ],
    [
      'an aged battery, and the brown-outs it gives',
      { figures: figures(aged) },
      { housekeeping: { bootsIn24h: 4 } },
      ['battery-ageing', 'repeated-restarts'],
    ],
    [
      'water in the box, and the sensor it reaches',
      { figures: figures({ boxRhDayMeanPercent: 97 }) },
      { housekeeping: { sensors: [{ metric: 'air_temp', badShare: 0.5, why: 'flat' }] } },
      ['box-climate', 'sensor-fault'],
    ],
    [
      'a plan used up, and the silence that follows',
      {
        housekeeping: {
          data: {
            usedBytes: 1e8,
            expectedBytes: 1e8,
            capBytes: 1e8,
            renewsAtMs: startMs + 9 * DAY_MS,
          },
        },
      },
      silentFor('data-cap'),
      ['data-cap', 'silent-unexplained'],
    ],
    [
      'a failing signal, and the silence that follows',
      { housekeeping: { signalChangeDb: -9 } },
      silentFor('link-one'),
      ['signal-failing', 'silent-unexplained'],
    ],
    [
      'a card that fails, and the board that stops with it',
      { housekeeping: { storageErrors: 9 } },
      silentFor('broken'),
      ['storage-full', 'silent-unexplained'],
    ],
    [
      'starts that each lose the time',
      { housekeeping: { bootsIn24h: 4 } },
      { housekeeping: { bootsIn24h: 4, clockSource: 'none' } },
      ['repeated-restarts', 'clock-wrong'],
    ],
    [
      'a box so hot that its battery is',
      { readings: { box_temp: 63, batt_temp: 40 } },
      { readings: { box_temp: 63, batt_temp: 62 } },
      ['box-climate', 'battery-temperature'],
    ],
    [
      'a sensor that died, and the load it drew',
      {
        housekeeping: { sensors: [{ metric: 'water_level', badShare: 0.9, why: 'flat' }] },
        figures: figures({ loadChange: 0.9 }),
      },
      { figures: figures({ loadChange: 0.4, recentLoadW: 0.4, usualLoadW: 1 }) },
      ['sensor-fault', 'load-abnormal'],
    ],
  ])('%s are one cause', (_, first, then, opened) => {
    expect(second(first, then)).toEqual({ opened, joins: opened.slice(1) });
  });

  it.each<[string, Given, Given, string[]]>([
    [
      'a clock that is wrong, and a card that fails',
      { housekeeping: { clockOffsetS: 240 } },
      { housekeeping: { clockOffsetS: 240, storageErrors: 9 } },
      ['clock-wrong', 'storage-full'],
    ],
    [
      'dirt on the panel, and a board stuck awake',
      { figures: figures({ yieldChange: 0.7 }), power: likely('soiling') },
      {
        figures: figures({ yieldChange: 0.7, loadChange: 1.8, recentLoadW: 2.7, usualLoadW: 1.5 }),
      },
      ['yield-loss', 'load-abnormal'],
    ],
    [
      'a dry box, and a sensor',
      { housekeeping: { sensors: [{ metric: 'air_temp', badShare: 0.5, why: 'flat' }] } },
      { readings: { box_temp: 63 } },
      ['sensor-fault', 'box-climate'],
    ],
    [
      'a failing signal, and a board that died',
      { housekeeping: { signalChangeDb: -9 } },
      silentFor('broken'),
      ['signal-failing', 'silent-unexplained'],
    ],
  ])('%s are two causes, and the second calls', (_, first, then, opened) => {
    expect(second(first, then, [9, 4])).toEqual({ opened, joins: [] });
  });

  // What can wait for the morning letter (P3) calls nobody: see `planCall`.
  it('call once: at the first that cannot wait, even where it joins what could', () => {
    const calls = (first: Given, taken = false) =>
      play(
        [
          { days: 4, given: first },
          { days: 1, given: { ...first, charge: charge(0.14) } },
        ],
        { taken },
      ).callsAgain;
    expect(calls({ figures: figures(aged) })).toEqual(['charge-low']);
    expect(calls({ figures: figures(aged) }, true)).toEqual([]);
    const fault = { figures: figures({ badDays: 3, goodDays: 0 }), power: likely('connector') };
    expect(calls(fault)).toEqual([]);
  });

  it('a shared cause of many nodes quiets what it explains of each, backlogs too', () => {
    const backlog: Given = { housekeeping: { backlogHours: 30 } };
    expect(play([{ days: 3, given: backlog }]).opened).toEqual(['signal-failing']);
    expect(play([{ days: 3, given: { ...backlog, fleetRules: ['not-ours'] } }]).opened).toEqual([]);
    const robbed = {
      lastHeardAtMs: startMs - 40 * MINUTE_MS,
      housekeeping: { tamper: { atMs: startMs - 50 * MINUTE_MS, says: 'Panel to 0 V' } },
    };
    // A carrier that is down takes no panel.
    expect(
      play([{ days: 1, given: { ...robbed, fleetRules: ['shared-link-down'] } }]).opened,
    ).toEqual(['tamper']);
  });
});
