import {
  HOUR_MS,
  type ChargeEstimate,
  type HourlyHistory,
  type LatestReading,
  type MetricKey,
  type PowerSystem,
} from '@duskline/domain';
import { estimateCharge } from './estimate-charge.ts';
import type { LearntBattery } from './learn/learnt-site.ts';

/**
 * The charge of past hours that have a voltage but no charge, each by the means of its own hour.
 *
 * @param history hours in which a gauge spoke, or which were estimated before, are left alone
 * @param battery what the node has taught of its battery, where it has
 * @returns one estimate for each such hour, dated in the middle of it, oldest first
 */
export function estimatePastCharges(
  history: HourlyHistory,
  power: PowerSystem,
  battery?: LearntBattery,
): readonly ChargeEstimate[] {
  const estimates: ChargeEstimate[] = [];
  history.batteryV.forEach((voltageV, hour) => {
    if (voltageV === null || (history.chargeRatio[hour] ?? null) !== null) return;
    const observedAtMs = history.startMs + (hour + 0.5) * HOUR_MS;
    const read = (metric: MetricKey, value: number | null | undefined): readonly LatestReading[] =>
      value === null || value === undefined ? [] : [{ metric, observedAtMs, value }];
    const estimate = estimateCharge({
      power,
      ...(battery !== undefined && { battery }),
      nowMs: observedAtMs,
      latest: [
        ...read('batt_v', voltageV),
        ...read('batt_i', history.batteryA[hour]),
        ...read('batt_temp', history.batteryC[hour]),
      ],
    });
    if (estimate !== undefined) estimates.push(estimate);
  });
  return estimates;
}

/** The history with those estimates in the hours they are of. */
export function withPastCharges(
  history: HourlyHistory,
  estimates: readonly ChargeEstimate[],
): HourlyHistory {
  if (estimates.length === 0) return history;
  const chargeRatio = [...history.chargeRatio];
  for (const { observedAtMs, ratio } of estimates)
    chargeRatio[Math.floor((observedAtMs - history.startMs) / HOUR_MS)] = ratio;
  return { ...history, chargeRatio };
}
