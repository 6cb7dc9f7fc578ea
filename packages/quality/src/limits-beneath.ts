import {
  metricKeys,
  type CrossLimits,
  type LimitBeneath,
  type LimitOverrides,
  type LimitsBeneath,
  type MetricKey,
  type MetricLimits,
} from '@duskline/domain';
import { defaultCrossLimits, defaultLimits } from './default-limits.ts';
import { sourceOfCrossLimit, sourceOfLimit } from './source-of-limit.ts';

/** Limits that people set, and for what. */
export interface LimitLayer {
  readonly from: 'site' | 'node';
  readonly limits: LimitOverrides;
}

/**
 * What holds where nothing more particular is set: the defaults with the layers over them, each limit with where it is from.
 *
 * @param layers the more particular last
 */
export function limitsBeneath(layers: readonly LimitLayer[]): LimitsBeneath {
  return {
    metrics: Object.fromEntries(metricKeys.map((key) => [key, ofMetric(key, layers)])),
    cross: ofCross(layers),
  };
}

type Beneath = LimitsBeneath['metrics'][MetricKey];
type Held = Record<string, LimitBeneath<unknown>>;

function ofMetric(key: MetricKey, layers: readonly LimitLayer[]): Beneath {
  const held: Held = {};
  for (const [name, limit] of Object.entries(defaultLimits(key)))
    held[name] = { limit, from: 'default', source: sourceOfLimit(key, name as keyof MetricLimits) };
  for (const { from, limits } of layers)
    for (const [name, limit] of entriesOf(limits.metrics?.[key]))
      held[name] = { limit, from, source: null };
  // Each name has come from an object of limits, with the limit that belongs to it.
  return held;
}

function ofCross(layers: readonly LimitLayer[]): LimitsBeneath['cross'] {
  const held: Held = {};
  for (const [name, limit] of entriesOf(defaultCrossLimits))
    held[name] = { limit, from: 'default', source: sourceOfCrossLimit(name as keyof CrossLimits) };
  for (const { from, limits } of layers)
    for (const [name, limit] of entriesOf(limits.cross)) held[name] = { limit, from, source: null };
  return held as unknown as LimitsBeneath['cross'];
}

const entriesOf = (limits: object | undefined): [string, unknown][] => Object.entries(limits ?? {});
