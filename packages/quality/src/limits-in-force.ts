import {
  metricKeys,
  type CrossLimits,
  type LimitOverrides,
  type MetricKey,
  type MetricLimits,
} from '@duskline/domain';
import { defaultCrossLimits, defaultLimits } from './default-limits.ts';

/** The limits that are applied to the readings of one node. */
export interface LimitsInForce {
  readonly of: (key: MetricKey) => MetricLimits;
  readonly cross: CrossLimits;
  /** Seconds before a reading that may bear on its flag. */
  readonly reachS: number;
}

/**
 * The defaults with what people set over them.
 *
 * @param overrides the more particular last: of the site, then of the node
 */
export function limitsInForce(overrides: readonly LimitOverrides[]): LimitsInForce {
  const limits = new Map<MetricKey, MetricLimits>(
    metricKeys.map((key) => [key, overlay(key, overrides)]),
  );
  const cross = Object.assign(
    {},
    defaultCrossLimits,
    ...overrides.map((one) => one.cross ?? {}),
  ) as CrossLimits;
  const windows = [...limits.values()].map(({ flatLine }) =>
    Math.max(flatLine?.suspectS ?? 0, flatLine?.failS ?? 0),
  );
  return {
    of: (key) => limits.get(key) ?? {},
    cross,
    reachS: Math.max(...windows, cross.clearSkyS, cross.chargeJumpS),
  };
}

function overlay(key: MetricKey, overrides: readonly LimitOverrides[]): MetricLimits {
  const merged: Record<string, unknown> = { ...defaultLimits(key) };
  for (const { metrics } of overrides)
    for (const [name, limit] of Object.entries(metrics?.[key] ?? {}))
      if (limit === null) delete merged[name];
      else if (limit !== undefined) merged[name] = limit;
  return withinFailSpan(merged);
}

/** A narrower fail span set by people narrows the suspect span with it. */
function withinFailSpan(limits: MetricLimits): MetricLimits {
  const { failSpan, suspectSpan } = limits;
  if (failSpan === undefined || suspectSpan === undefined) return limits;
  return {
    ...limits,
    suspectSpan: [Math.max(failSpan[0], suspectSpan[0]), Math.min(failSpan[1], suspectSpan[1])],
  };
}

/**
 * What is wrong with overrides, in sentences; empty when nothing is.
 */
export function faultsOfOverrides(overrides: LimitOverrides): readonly string[] {
  const faults: string[] = [];
  for (const key of Object.keys(overrides.metrics ?? {}) as MetricKey[]) {
    const { failSpan, suspectSpan, spike, rate, flatLine } = overrides.metrics?.[key] ?? {};
    for (const [name, span] of Object.entries({ failSpan, suspectSpan }))
      if (span != null && span[0] >= span[1])
        faults.push(`${key}: ${name} ends below where it begins.`);
    if (failSpan != null && suspectSpan != null)
      if (suspectSpan[0] < failSpan[0] || suspectSpan[1] > failSpan[1])
        faults.push(`${key}: the suspect span reaches out of the fail span.`);
    if (spike?.fail !== undefined && spike.fail < spike.suspect)
      faults.push(`${key}: a spike would fail before it is suspect.`);
    if (rate?.failPerS !== undefined && rate.failPerS < rate.suspectPerS)
      faults.push(`${key}: a rate of change would fail before it is suspect.`);
    if (flatLine?.failS !== undefined && flatLine.failS < flatLine.suspectS)
      faults.push(`${key}: a flat line would fail before it is suspect.`);
  }
  return faults;
}
