import {
  type ChargeEstimate,
  DAY_MS,
  type LatestReading,
  type MetricKey,
  MINUTE_MS,
  type PowerSystem,
} from '@duskline/domain';
import { batteryOf, chargeFromVoltage, packResistanceOhm } from '@duskline/energy';
import type { LearntBattery } from './learn/learnt-site.ts';

/** A gauge on the node is good to about five points (σ): science of the project, from common practice, no source. */
const GAUGE_HALF_BAND = 0.05 * 1.2816;
/** A gauge that stopped this long before the voltage did is not the better witness. */
const GAUGE_LAG_MS = DAY_MS;
/** Current and temperature explain a voltage only when read beside it. */
const BESIDE_MS = 10 * MINUTE_MS;
/** Readings dated further ahead than this come from a wrong clock. */
const CLOCK_SLACK_MS = 5 * MINUTE_MS;

/**
 * The charge as the newest readings tell it: the node's own gauge, else the battery's voltage.
 *
 * @param facts.latest  newest value of each metric; `charge` in percent
 * @param facts.power   chemistry and cells, for the voltage
 * @param facts.nowMs   readings dated after it are left out
 * @param facts.battery what the node has taught of its battery: its own resistance and capacity, in place of the usual ones
 * @returns ratio 0–1 with its band and method; undefined when neither charge nor voltage was ever read
 */
export function estimateCharge(facts: {
  readonly latest: readonly LatestReading[];
  readonly power: PowerSystem;
  readonly nowMs: number;
  readonly battery?: LearntBattery;
}): ChargeEstimate | undefined {
  const find = (metric: MetricKey): LatestReading | undefined =>
    facts.latest.find(
      (reading) =>
        reading.metric === metric && reading.observedAtMs <= facts.nowMs + CLOCK_SLACK_MS,
    );
  const gauge = find('charge');
  const voltage = find('batt_v');
  const isGaugeCurrent =
    voltage === undefined ||
    (gauge !== undefined && gauge.observedAtMs >= voltage.observedAtMs - GAUGE_LAG_MS);
  if (gauge !== undefined && isGaugeCurrent) return fromGauge(gauge);
  if (voltage === undefined) return undefined;

  const beside = (metric: MetricKey): number | undefined => {
    const reading = find(metric);
    if (reading === undefined) return undefined;
    const gapMs = Math.abs(reading.observedAtMs - voltage.observedAtMs);
    return gapMs <= BESIDE_MS ? reading.value : undefined;
  };
  const currentA = beside('batt_i');
  const batteryC = beside('batt_temp');
  const { chemistry, seriesCells } = facts.power.battery;
  const ratedWh = facts.battery?.capacityWh.value ?? facts.power.battery.ratedWh;
  const resistanceOhm = resistanceAt(facts.power, facts.battery, batteryC ?? 25);
  const { ratio, lowRatio, highRatio, method } = chargeFromVoltage({
    chemistry,
    seriesCells,
    ratedWh,
    voltageV: voltage.value,
    ...(currentA !== undefined && { currentA }),
    ...(batteryC !== undefined && { batteryC }),
    ...(resistanceOhm !== undefined && { resistanceOhm }),
  });
  return { ratio, lowRatio, highRatio, method, observedAtMs: voltage.observedAtMs };
}

/** Learnt at 25 °C; a cold pack resists more, as any of its chemistry. */
function resistanceAt(
  { battery: { chemistry, seriesCells, ratedWh } }: PowerSystem,
  learnt: LearntBattery | undefined,
  batteryC: number,
): number | undefined {
  if (learnt?.resistanceOhm === undefined) return undefined;
  const usual = { facts: batteryOf(chemistry), seriesCells, ratedWh };
  const cold = packResistanceOhm({ ...usual, batteryC }) / packResistanceOhm(usual);
  return learnt.resistanceOhm.value * cold;
}

function fromGauge({ value, observedAtMs }: LatestReading): ChargeEstimate {
  const ratio = Math.min(1, Math.max(0, value / 100));
  return {
    ratio,
    lowRatio: Math.max(0, ratio - GAUGE_HALF_BAND),
    highRatio: Math.min(1, ratio + GAUGE_HALF_BAND),
    method: 'gauge',
    observedAtMs,
  };
}
