import { failed, metric, ok, type MetricKey, type Result } from '@duskline/domain';
import { limitsText as words } from '../../text/limits.ts';
import { withoutMetric } from './without-metric.ts';
import type { LimitsOfPlace, LimitSubject, LimitTest, TestEntry } from './limit-test.ts';
import {
  metricTestKeys,
  metricTests,
  type LimitFault,
  type MetricTestKey,
} from './metric-tests.ts';
import { sayLimits, saySpan, type MetricLimitsJson } from './say-limits.ts';

const EMPTY = { failSpan: 2, suspectSpan: 2, spike: 2, rate: 2, flatLine: 3, neighbour: 1 };
type Span = readonly number[] | null | undefined;

/** Every test of one metric alone whose limits can be set. */
export function metricSubject(key: MetricKey, { limits, beneath }: LimitsOfPlace): LimitSubject {
  const own: MetricLimitsJson = limits.metrics?.[key] ?? {};
  const below = beneath.metrics[key] ?? {};
  const shown = metricTestKeys.filter(
    (test) => isOffered(test, key) || below[test] !== undefined || own[test] !== undefined,
  );
  const beforeOf = <K extends MetricTestKey>(test: K) =>
    own[test] ?? (below[test]?.limit as MetricLimitsJson[K]) ?? undefined;

  return {
    tests: shown.map((test): LimitTest => {
      const held = below[test];
      const said =
        held === undefined ? words.untested : (sayLimits(key, { [test]: held.limit })[0] ?? '');
      return {
        key: test,
        ...words.tests[test],
        fields: words.tests[test].fields.map(({ label, per }) => ({
          label,
          unit: per === undefined ? metric(key).unit : words.units[per](metric(key).unit),
        })),
        beneath: words.beneath(said, held?.from ?? 'default', held?.source ?? null),
        back: words.back[held?.from ?? 'default'],
        mayBeOff: true,
        entry: entryOf(test, own),
      };
    }),
    put(entries) {
      const results = shown.map((test, at) =>
        limitOf(test, entries[at] ?? emptyEntry(test), beforeOf(test)),
      );
      const next = Object.fromEntries(
        shown.flatMap((test, at) => {
          const result = results[at];
          return result?.ok === true && result.value !== undefined ? [[test, result.value]] : [];
        }),
      ) as MetricLimitsJson;
      const faults = shown.map((test, at): string | undefined => {
        const result = results[at];
        if (result?.ok === false) return words.faults[result.fault];
        const clash = clashOf(test, next, {
          failSpan: below.failSpan?.limit,
          suspectSpan: below.suspectSpan?.limit,
        });
        if (clash === undefined) return undefined;
        return words.clashes[clash.fault](saySpan(key, clash.with));
      });
      if (faults.some((fault) => fault !== undefined)) return failed(faults);
      const rest = withoutMetric(limits, key);
      if (Object.keys(next).length === 0) return ok(rest);
      return ok({ ...rest, metrics: { ...rest.metrics, [key]: next } });
    },
  };
}

/** Which metrics are compared with neighbours at all, the defaults decide; and a gauge that stands still in dry weather is right. */
const isOffered = (test: MetricTestKey, key: MetricKey): boolean =>
  test === 'flatLine' ? key !== 'rain' : test !== 'neighbour';

const emptyEntry = (test: MetricTestKey): TestEntry => ({
  values: Array.from({ length: EMPTY[test] }, () => null),
  off: false,
});

function entryOf(test: MetricTestKey, own: MetricLimitsJson): TestEntry {
  const limit = own[test];
  if (limit === undefined) return emptyEntry(test);
  if (limit === null) return { ...emptyEntry(test), off: true };
  const { read } = metricTests[test] as { read: (of: unknown) => readonly (number | null)[] };
  return { values: read(limit), off: false };
}

/** Undefined: nothing of its own; null: not tested. */
function limitOf(
  test: MetricTestKey,
  { values, off }: TestEntry,
  before: unknown,
): Result<unknown, LimitFault> {
  if (off) return ok(null);
  if (values.every((value) => value === null)) return ok(undefined);
  const { write } = metricTests[test] as {
    write: (values: TestEntry['values'], before: unknown) => Result<unknown, LimitFault>;
  };
  return write(values, before);
}

/** The likely range lies within the one that can be measured, whichever of the two was set here. */
function clashOf(
  test: MetricTestKey,
  next: MetricLimitsJson,
  below: { readonly failSpan: Span; readonly suspectSpan: Span },
): { readonly fault: 'outside' | 'apart'; readonly with: readonly number[] } | undefined {
  const fail = next.failSpan === undefined ? below.failSpan : next.failSpan;
  const suspect = next.suspectSpan === undefined ? below.suspectSpan : next.suspectSpan;
  const [failLow, failHigh] = fail ?? [];
  const [low, high] = suspect ?? [];
  if (failLow === undefined || failHigh === undefined) return undefined;
  if (low === undefined || high === undefined || fail == null || suspect == null) return undefined;
  if (
    test === 'suspectSpan' &&
    next.suspectSpan !== undefined &&
    (low < failLow || high > failHigh)
  )
    return { fault: 'outside', with: fail };
  // The server narrows a likely range from beneath to what can be measured: something must be left of it.
  const isApart = low >= failHigh || high <= failLow;
  if (test === 'failSpan' && next.suspectSpan === undefined && isApart)
    return { fault: 'apart', with: suspect };
  return undefined;
}
