import type { BatteryFacts } from './batteries/battery-facts.ts';
import { chargeFromVoltage, type VoltageReading } from './charge-from-voltage.ts';
import { interpolate } from './piecewise.ts';
import { requireFinite, requireWithin } from './require-number.ts';

/** Charge and how sure it is: the state of a counter that voltage corrects. */
export interface ChargeFilter {
  /** Share of present capacity, 0 … 1. */
  readonly ratio: number;
  /** Standard deviation, as a ratio. */
  readonly sigma: number;
}

/** What a correction did, and why it did nothing. */
export interface ChargeCorrection {
  readonly filter: ChargeFilter;
  /** Share of the difference that was taken over, 0 … 1. */
  readonly gain: number;
  readonly ignored?: 'plateau' | 'surface-charge' | 'not-this-battery';
}

/** Knowing nothing: uniform over the scale. */
export const UNKNOWN_CHARGE: ChargeFilter = { ratio: 0.5, sigma: 0.29 };

const NINETY_PERCENT_SIGMAS = 1.2816; // normal distribution, 10 % and 90 % points
const READING_SIGMA_V_PER_CELL = 0.01; // research note of this project
const CURRENT_OFFSET_A = 0.005; // of a node's current sensor; assumption, no source
const CAPACITY_SIGMA = 0.1; // of a nameplate, before anything is learnt; research note of this project
const SLOPE_STEP = 0.02;
const FULL: ChargeFilter = { ratio: 1, sigma: 0.01 };
const GAUGE_SIGMA = 0.05; // research note of this project

/**
 * Counts the charge that flowed. The doubt grows with the sensor's offset, which adds up, and with the doubt of the capacity.
 *
 * @param filter            before
 * @param step.currentA     mean over the step, positive = charging
 * @param step.hours        ≥ 0
 * @param step.capacityAh   present capacity at the present temperature, > 0
 * @param step.chargeYield  charge kept of charge put in, 0 … 1; 1 when left out
 * @param step.capacitySigma  doubt of the capacity as a share; 0.1 until learnt
 * @param step.currentOffsetA doubt of the current's zero, A; 0.005 when left out
 * @returns after; ratio held within 0 … 1
 * @throws EnergyInputError when a number is out of range
 * @source coulomb counting; growth of the doubt: ours
 */
export function countCharge(
  filter: ChargeFilter,
  step: {
    readonly currentA: number;
    readonly hours: number;
    readonly capacityAh: number;
    readonly chargeYield?: number;
    readonly capacitySigma?: number;
    readonly currentOffsetA?: number;
  },
): ChargeFilter {
  const { currentA, hours, capacityAh, chargeYield = 1 } = step;
  requireFinite('currentA', currentA);
  requireWithin('hours', hours, [0, Number.MAX_VALUE]);
  requireWithin('capacityAh', capacityAh, [Number.MIN_VALUE, Number.MAX_VALUE]);
  const change = (currentA * (currentA > 0 ? chargeYield : 1) * hours) / capacityAh;
  const offset = ((step.currentOffsetA ?? CURRENT_OFFSET_A) * hours) / capacityAh;
  const scale = Math.abs(change) * (step.capacitySigma ?? CAPACITY_SIGMA);
  return {
    ratio: Math.min(1, Math.max(0, filter.ratio + change)),
    // Offset and capacity are wrong the same way every step, so their parts add plainly, not as squares.
    sigma: Math.min(UNKNOWN_CHARGE.sigma, filter.sigma + offset + scale),
  };
}

/**
 * Corrects counted charge by a voltage, as far as the voltage knows: by Kalman's gain from the slope of the curve. On a plateau,
 * and under charge where the voltage stands high for chemical reasons, it takes nothing over.
 *
 * The curve of a make is wrong the same way each time, so many readings never make the charge surer than the curve is.
 *
 * @param filter   before
 * @param reading  as `chargeFromVoltage`, with the facts of the battery
 * @returns the filter after, with the gain
 * @throws EnergyInputError as `chargeFromVoltage`
 * @source Kalman 1960; variance of a voltage reading: (σ_V ÷ dV/dSoC)² + σ_curve², research note of this project
 */
export function correctCharge(
  filter: ChargeFilter,
  reading: VoltageReading & { readonly facts: BatteryFacts },
): ChargeCorrection {
  const { facts, currentA = 0 } = reading;
  const read = chargeFromVoltage(reading);
  if (read.lowRatio === 0 && read.highRatio === 1) {
    return { filter, gain: 0, ignored: isOfThisBattery(reading) ? 'plateau' : 'not-this-battery' };
  }
  if (facts.chargeLiftsVoltage && currentA > 0) {
    return { filter, gain: 0, ignored: 'surface-charge' };
  }
  const { plateau } = facts;
  if (plateau !== undefined && read.ratio >= plateau.fromRatio && read.ratio <= plateau.toRatio) {
    return { filter, gain: 0, ignored: 'plateau' };
  }
  const curveSigma = facts.voltageBandRatio / NINETY_PERCENT_SIGMAS;
  const bandSigma = (read.highRatio - read.lowRatio) / (2 * NINETY_PERCENT_SIGMAS);
  const readingSigma = READING_SIGMA_V_PER_CELL / slopeAt(facts, read.ratio);
  const readSigma = Math.max(bandSigma, Math.hypot(readingSigma, curveSigma));
  return takeOver(filter, read.ratio, { sigma: readSigma, floor: curveSigma });
}

/**
 * Corrects counted charge by the node's own gauge.
 *
 * @param gaugeRatio  0 … 1
 * @throws EnergyInputError when it is outside
 */
export function correctByGauge(filter: ChargeFilter, gaugeRatio: number): ChargeCorrection {
  requireWithin('gaugeRatio', gaugeRatio, [0, 1]);
  return takeOver(filter, gaugeRatio, { sigma: GAUGE_SIGMA, floor: GAUGE_SIGMA });
}

/** The charger has finished: the taper has run out or the panel is held back in full sun. The one moment charge is known. */
export function anchorFull(): ChargeFilter {
  return FULL;
}

/**
 * The band a screen shows.
 *
 * @returns 10 % and 90 % ends within 0 … 1, method 'counted'
 */
export function countedCharge({ ratio, sigma }: ChargeFilter): {
  readonly ratio: number;
  readonly lowRatio: number;
  readonly highRatio: number;
  readonly method: 'counted';
} {
  const half = NINETY_PERCENT_SIGMAS * sigma;
  return {
    ratio,
    lowRatio: Math.max(0, ratio - half),
    highRatio: Math.min(1, ratio + half),
    method: 'counted',
  };
}

function takeOver(
  filter: ChargeFilter,
  ratio: number,
  read: { readonly sigma: number; readonly floor: number },
): ChargeCorrection {
  const variance = filter.sigma ** 2;
  const gain = variance / (variance + read.sigma ** 2);
  const surer = Math.sqrt((1 - gain) * variance);
  return {
    filter: {
      ratio: filter.ratio + gain * (ratio - filter.ratio),
      sigma: Math.max(surer, Math.min(filter.sigma, read.floor)),
    },
    gain,
  };
}

function slopeAt(facts: BatteryFacts, ratio: number): number {
  const low = Math.max(0, ratio - SLOPE_STEP);
  const high = Math.min(1, ratio + SLOPE_STEP);
  const rise = interpolate(facts.ocvPoints, high) - interpolate(facts.ocvPoints, low);
  return rise / (high - low);
}

function isOfThisBattery({
  facts,
  voltageV,
  seriesCells,
}: VoltageReading & { readonly facts: BatteryFacts }): boolean {
  const cellV = voltageV / seriesCells;
  return cellV >= facts.cellSpanV[0] && cellV <= facts.cellSpanV[1];
}
