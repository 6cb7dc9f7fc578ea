import { FLAT_LINE_S } from '@duskline/contract';
import { failed, ok, type MetricLimits, type Result } from '@duskline/domain';
import type { MetricLimitsJson } from './say-limits.ts';

export type MetricTestKey = keyof MetricLimits;
export type LimitFault =
  'half' | 'upsideDown' | 'notPositive' | 'noSuspect' | 'failsFirst' | 'still' | 'stillLength';
type Limit<K extends MetricTestKey> = NonNullable<MetricLimitsJson[K]>;

interface MetricTest<L> {
  /** Figures of the fields, as people type them. */
  readonly read: (limit: L) => readonly (number | null)[];
  /** At least one of the figures is there. @param before what was set, or else holds: what has no field is taken from it */
  readonly write: (
    values: readonly (number | null)[],
    before: L | undefined,
  ) => Result<L, LimitFault>;
}

const MINUTE_S = 60;
const HOUR_S = 3600;
/** Without the noise of a division: 0.05 a second are 3 a minute. */
const clean = (value: number): number => Number(value.toPrecision(12));

const span: MetricTest<Limit<'failSpan'>> = {
  read: ([low = null, high = null]) => [low, high],
  write([low = null, high = null]) {
    if (low === null || high === null) return failed('half');
    return low >= high ? failed('upsideDown') : ok([low, high]);
  },
};

/** Suspect from one figure on, failed from a larger one on that may be missing. */
function twoSteps([suspect = null, fail = null]: readonly (number | null)[]): Result<
  { readonly suspect: number; readonly fail?: number },
  LimitFault
> {
  if (suspect === null) return failed('noSuspect');
  if (suspect <= 0 || (fail !== null && fail <= 0)) return failed('notPositive');
  if (fail !== null && fail < suspect) return failed('failsFirst');
  return ok({ suspect, ...(fail === null ? {} : { fail }) });
}

/** The tests of one metric alone, in the order of the manuals: figures to limits and back. */
export const metricTests: { readonly [K in MetricTestKey]: MetricTest<Limit<K>> } = {
  failSpan: span,
  suspectSpan: span,
  spike: {
    read: ({ suspect, fail = null }) => [suspect, fail],
    write: twoSteps,
  },
  rate: {
    read: ({ suspectPerS, failPerS }) => [
      clean(suspectPerS * MINUTE_S),
      failPerS === undefined ? null : clean(failPerS * MINUTE_S),
    ],
    write(values, before) {
      const steps = twoSteps(values);
      if (!steps.ok) return steps;
      const { suspect, fail } = steps.value;
      // People give the change of a minute: over less time the whole of it is allowed, unless somebody said otherwise.
      const leastS = before === undefined ? MINUTE_S : before.leastS;
      return ok({
        suspectPerS: suspect / MINUTE_S,
        ...(fail === undefined ? {} : { failPerS: fail / MINUTE_S }),
        ...(leastS === undefined ? {} : { leastS }),
      });
    },
  },
  flatLine: {
    read: ({ tolerance, suspectS, failS }) => [
      tolerance,
      clean(suspectS / HOUR_S),
      failS === undefined ? null : clean(failS / HOUR_S),
    ],
    write([tolerance = null, suspectH = null, failH = null]) {
      if (tolerance === null || suspectH === null) return failed('still');
      if (tolerance <= 0) return failed('notPositive');
      const suspectS = clean(suspectH * HOUR_S);
      const failS = failH === null ? undefined : clean(failH * HOUR_S);
      const isLength = (s: number) => s >= FLAT_LINE_S.least && s <= FLAT_LINE_S.most;
      if (!isLength(suspectS) || (failS !== undefined && !isLength(failS)))
        return failed('stillLength');
      if (failS !== undefined && failS < suspectS) return failed('failsFirst');
      return ok({ tolerance, suspectS, ...(failS === undefined ? {} : { failS }) });
    },
  },
  neighbour: {
    read: ({ suspect }) => [suspect],
    write([suspect = null]) {
      if (suspect === null || suspect <= 0) return failed('notPositive');
      return ok({ suspect });
    },
  },
};

export const metricTestKeys = Object.keys(metricTests) as readonly MetricTestKey[];
