import type { QualityLimitsJson } from '@duskline/contract';
import { describe, expect, it } from 'vitest';
import { limitsText } from '../../text/limits.ts';
import type { LimitsOfPlace, LimitSubject, TestEntry } from './limit-test.ts';
import { metricSubject } from './metric-subject.ts';
import { beneathOf } from './testing-beneath.ts';
import { withoutMetric } from './without-metric.ts';

const set: QualityLimitsJson = {
  metrics: {
    air_temp: {
      failSpan: [-20, 50],
      spike: { suspect: 2, fail: 5 },
      rate: { suspectPerS: 0.05, leastS: 30 },
      flatLine: null,
    },
    batt_v: { spike: null },
  },
  cross: { chargeJumpPct: 12 },
};
const none: LimitsOfPlace = { limits: {}, beneath: beneathOf({}) };
const of = (limits: QualityLimitsJson): LimitsOfPlace => ({ limits, beneath: beneathOf({}) });

type Figures = readonly (number | null)[];
/** The entries as shown, with some typed over: figures, or `off`. */
function typed(
  subject: LimitSubject,
  over: Readonly<Record<string, Figures | 'off'>>,
): TestEntry[] {
  return subject.tests.map(({ key, entry }) => {
    const typedIn = over[key];
    if (typedIn === undefined) return entry;
    return typedIn === 'off' ? { ...entry, off: true } : { values: typedIn, off: false };
  });
}
const shown = (subject: LimitSubject) =>
  Object.fromEntries(
    subject.tests.map(({ key, entry }) => [key, entry.off ? 'off' : entry.values]),
  );
const air = (limits: QualityLimitsJson) => metricSubject('air_temp', of(limits));

describe('limits of one metric', () => {
  it('are shown as they were set, a rate by the minute and a length by the hour', () => {
    expect(shown(air(set))).toEqual({
      failSpan: [-20, 50],
      suspectSpan: [null, null],
      spike: [2, 5],
      rate: [3, null],
      flatLine: 'off',
    });
    const still = { metrics: { air_temp: { flatLine: { tolerance: 0.1, suspectS: 9000 } } } };
    expect(shown(air(still))['flatLine']).toEqual([0.1, 2.5, null]);
  });

  it('are kept as they were when nothing was typed', () => {
    const subject = air(set);
    expect(subject.put(typed(subject, {}))).toEqual({ ok: true, value: set });
  });

  it('are put beside what was set for other metrics, each test on its own', () => {
    const subject = metricSubject('rel_hum', of(set));
    const kept = subject.put(
      typed(subject, {
        failSpan: [0, 101],
        suspectSpan: [5, 100],
        spike: [10, 20],
        rate: [12, 30],
        flatLine: [0.5, 5, 12],
      }),
    );
    expect(kept).toEqual({
      ok: true,
      value: {
        ...set,
        metrics: {
          ...set.metrics,
          rel_hum: {
            failSpan: [0, 101],
            suspectSpan: [5, 100],
            spike: { suspect: 10, fail: 20 },
            // A change of a minute is allowed whole over less than a minute.
            rate: { suspectPerS: 0.2, failPerS: 0.5, leastS: 60 },
            flatLine: { tolerance: 0.5, suspectS: 18_000, failS: 43_200 },
          },
        },
      },
    });
  });

  it('go back to what holds without, test by test, and leave a test off that was off', () => {
    const subject = air(set);
    const next = subject.put(typed(subject, { failSpan: [null, null], rate: [null, null] }));
    expect(next.ok && next.value.metrics?.['air_temp']).toEqual({
      spike: { suspect: 2, fail: 5 },
      flatLine: null,
    });
    const back = subject.put(
      subject.tests.map(({ entry }) => ({ values: entry.values.map(() => null), off: false })),
    );
    expect(back).toEqual({ ok: true, value: withoutMetric(set, 'air_temp') });
  });

  it('keep over how short a time a change may be whole, as somebody said through the API', () => {
    const subject = air(set);
    const next = subject.put(typed(subject, { rate: [6, null] }));
    expect(next.ok && next.value.metrics?.['air_temp']?.rate).toEqual({
      suspectPerS: 0.1,
      leastS: 30,
    });
  });

  it('switch a test off', () => {
    const subject = metricSubject('rain', none);
    expect(subject.put(typed(subject, { spike: 'off' }))).toEqual({
      ok: true,
      value: { metrics: { rain: { spike: null } } },
    });
  });

  it.each([
    ['failSpan', [1, null], 'half'],
    ['failSpan', [null, 1], 'half'],
    ['failSpan', [2, 1], 'upsideDown'],
    ['suspectSpan', [1, 1], 'upsideDown'],
    ['spike', [0, null], 'notPositive'],
    ['spike', [-1, null], 'notPositive'],
    ['spike', [null, 3], 'noSuspect'],
    ['spike', [3, 2], 'failsFirst'],
    ['rate', [3, 2], 'failsFirst'],
    ['flatLine', [0.1, null, null], 'still'],
    ['flatLine', [null, 2, 3], 'still'],
    ['flatLine', [0, 2, 3], 'notPositive'],
    ['flatLine', [0.1, 3, 2], 'failsFirst'],
    ['flatLine', [0.1, 25, null], 'stillLength'],
    ['flatLine', [0.1, 0.01, null], 'stillLength'],
  ] as const)('%s of %j is refused: %s', (test, values, fault) => {
    const subject = air({});
    const answer = subject.put(typed(subject, { [test]: values }));
    expect(answer).toEqual({
      ok: false,
      fault: subject.tests.map(({ key }) => (key === test ? limitsText.faults[fault] : undefined)),
    });
  });
});

describe('a likely range', () => {
  const beneath = beneathOf({
    air_temp: {
      failSpan: { limit: [-50, 50], from: 'default', source: 'a manual' },
      suspectSpan: { limit: [-30, 35], from: 'site', source: null },
      neighbour: { limit: { suspect: 8 }, from: 'default', source: 'ours' },
    },
  });
  const subject = metricSubject('air_temp', { limits: {}, beneath });
  const faultOf = (test: string, over: Readonly<Record<string, Figures | 'off'>>) => {
    const answer = subject.put(typed(subject, over));
    return answer.ok ? undefined : answer.fault[subject.tests.findIndex(({ key }) => key === test)];
  };

  it('may not reach out of the one that fails, whoever set that', () => {
    expect(faultOf('suspectSpan', { suspectSpan: [-60, 10] })).toContain('−50 to 50');
    expect(faultOf('suspectSpan', { suspectSpan: [-10, 30], failSpan: [-20, 20] })).toContain(
      '−20 to 20',
    );
    expect(faultOf('suspectSpan', { suspectSpan: [-60, 10], failSpan: 'off' })).toBeUndefined();
    expect(faultOf('suspectSpan', { suspectSpan: [-50, 50] })).toBeUndefined();
  });

  it('from beneath is narrowed by the server, as long as something is left of it', () => {
    expect(faultOf('failSpan', { failSpan: [-20, 20] })).toBeUndefined();
    expect(faultOf('failSpan', { failSpan: [40, 60] })).toContain('−30 to 35');
  });

  it('and each other limit says what holds without, and from where', () => {
    const said = Object.fromEntries(subject.tests.map((test) => [test.key, test]));
    expect(said['failSpan']?.beneath).toBe(
      'By default: fails outside −50 to 50\u00a0°C (a manual).',
    );
    expect(said['suspectSpan']?.beneath).toBe('For the site: suspect outside −30 to 35\u00a0°C.');
    expect(said['suspectSpan']?.back).toBe('Back to that of the site');
    expect(said['spike']?.beneath).toBe('By default: not tested.');
    expect(said['rate']?.fields.map(({ unit }) => unit)).toEqual(['°C a minute', '°C a minute']);
    expect(said['flatLine']?.fields.map(({ unit }) => unit)).toEqual(['°C', 'h', 'h']);
    expect(said['neighbour']?.fields).toHaveLength(1);
  });
});

it('neighbours are offered where the server compares them, and no flat line for rain', () => {
  const keys = (subject: LimitSubject) => subject.tests.map(({ key }) => key);
  expect(keys(air({}))).not.toContain('neighbour');
  expect(keys(metricSubject('rain', none))).toEqual(['failSpan', 'suspectSpan', 'spike', 'rate']);
});
