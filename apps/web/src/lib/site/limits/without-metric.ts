import type { QualityLimitsJson } from '@duskline/contract';

/** The limits without those of one metric. */
export function withoutMetric(limits: QualityLimitsJson, key: string): QualityLimitsJson {
  const { metrics = {}, ...rest } = limits;
  const others = Object.entries(metrics).filter(([one]) => one !== key);
  return others.length === 0 ? rest : { ...rest, metrics: Object.fromEntries(others) };
}
