import type { QualityLimitsJson } from '@duskline/contract';
import { describe, expect, it } from 'vitest';
import { crossGroupKeys, crossGroups } from './cross-groups.ts';
import { crossSubject, sayGroup, withoutGroup } from './cross-subject.ts';
import { beneathOf } from './testing-beneath.ts';

const beneath = beneathOf({});
const set: QualityLimitsJson = {
  metrics: { batt_v: { spike: null } },
  cross: { clearSkyS: 900, chargeJumpPct: 12 },
};
const typed = (...figures: (number | null)[]) =>
  figures.map((figure) => ({ values: [figure], off: false }));

describe('limits of readings held against each other', () => {
  it('are all offered, each once', () => {
    const offered = crossGroupKeys.flatMap((group) => crossGroups[group].map(({ limit }) => limit));
    expect([...offered].sort()).toEqual(Object.keys(beneath.cross).sort());
  });

  it('are typed by the minute and kept by the second, beside what else was set', () => {
    const subject = crossSubject('clearSky', { limits: set, beneath });
    expect(subject.tests.map(({ entry }) => entry.values)).toEqual([[null], [15], [null]]);
    expect(subject.tests[1]?.beneath).toBe('By default: 10\u00a0min (the test).');
    expect(subject.put(typed(1.5, 20, null))).toEqual({
      ok: true,
      value: {
        metrics: set.metrics,
        cross: { chargeJumpPct: 12, clearSkyRatio: 1.5, clearSkyS: 1200 },
      },
    });
  });

  it('go back to what holds without', () => {
    const subject = crossSubject('clearSky', { limits: set, beneath });
    expect(subject.put(typed(null, null, null))).toEqual({
      ok: true,
      value: { metrics: set.metrics, cross: { chargeJumpPct: 12 } },
    });
    expect(withoutGroup({ cross: { rainMm: 1 } }, 'dryRain')).toEqual({});
  });

  it('are refused when they are nonsense, with what would do', () => {
    const answer = crossSubject('dryRain', { limits: {}, beneath }).put(typed(-1, 130));
    expect(answer.ok).toBe(false);
    expect(answer.ok ? [] : answer.fault).toEqual([
      'Give a figure from 0 to 50\u00a0mm.',
      'Give a figure from 0 to 100\u00a0%.',
    ]);
  });

  it('are said with what they are of', () => {
    expect(sayGroup(set, 'clearSky')).toEqual(['lasting over 15\u00a0min']);
    expect(sayGroup(set, 'gust')).toEqual([]);
  });
});
