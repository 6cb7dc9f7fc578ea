import type { QualityLimitsJson } from '@duskline/contract';
import { failed, ok, type MetricKey, type Result } from '@duskline/domain';

/** What stands in the form; null: the field is empty, and the test is as it is without. */
export interface LimitEntry {
  readonly low: number | null;
  readonly high: number | null;
  /** Distance from the middle of the neighbours in time, over which a reading is suspect. */
  readonly spike: number | null;
}

/** Why an entry cannot be kept; each has its sentence in the text of the limits. */
export type LimitFault = 'half' | 'upsideDown' | 'notPositive' | 'nothing';

/** What was set, as the form shows it. A test that is switched off is an empty field, as one that was never set. */
export function entryOf(limits: QualityLimitsJson, key: MetricKey): LimitEntry {
  const { failSpan, spike } = limits.metrics?.[key] ?? {};
  return {
    low: failSpan?.[0] ?? null,
    high: failSpan?.[1] ?? null,
    spike: spike?.suspect ?? null,
  };
}

/**
 * The limits with the entry in them. What the form does not show, of this metric and of others, stays as it was: also a test
 * that somebody switched off.
 */
export function withEntry(
  limits: QualityLimitsJson,
  key: MetricKey,
  { low, high, spike }: LimitEntry,
): Result<QualityLimitsJson, LimitFault> {
  if ((low === null) !== (high === null)) return failed('half');
  if (low !== null && high !== null && low >= high) return failed('upsideDown');
  if (spike !== null && spike <= 0) return failed('notPositive');
  const before = limits.metrics?.[key];
  if (low === null && spike === null && before === undefined) return failed('nothing');
  const { failSpan, spike: spikeBefore, ...beside } = before ?? {};
  const next = {
    ...beside,
    ...(low !== null && high !== null ? { failSpan: [low, high] } : offOf({ failSpan })),
    ...(spike !== null
      ? { spike: { ...spikeBefore, suspect: spike } }
      : offOf({ spike: spikeBefore })),
  };
  if (Object.keys(next).length === 0) return ok(withoutMetric(limits, key));
  return ok({ ...limits, metrics: { ...limits.metrics, [key]: next } });
}

/** The limits without those of one metric. */
export function withoutMetric(limits: QualityLimitsJson, key: string): QualityLimitsJson {
  const { metrics = {}, ...rest } = limits;
  const others = Object.entries(metrics).filter(([one]) => one !== key);
  return others.length === 0 ? rest : { ...rest, metrics: Object.fromEntries(others) };
}

/** A test that is switched off stays so. */
const offOf = <T extends object>(test: T): Partial<T> =>
  Object.values(test).every((limit) => limit === null) ? test : {};
