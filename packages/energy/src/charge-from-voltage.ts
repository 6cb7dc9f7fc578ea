import type { BatteryChemistry, ChargeMethod } from '@duskline/domain';
import type { BatteryFacts } from './batteries/battery-facts.ts';
import { batteryOf } from './batteries/battery-of.ts';
import { coldFactor, packResistanceOhm } from './cell-resistance.ts';
import { interpolateInverse } from './piecewise.ts';
import { requireFinite, requireWithin } from './require-number.ts';

export interface VoltageReading {
  readonly chemistry: BatteryChemistry;
  /** Of a builder's own battery (`batteryFactsOf`), in place of the chemistry's. */
  readonly facts?: BatteryFacts;
  /** ≥ 1 */
  readonly seriesCells: number;
  /** Of the whole pack. */
  readonly voltageV: number;
  /** Positive = charging. */
  readonly currentA?: number;
  readonly batteryC?: number;
  /** Nameplate energy: lets the current be weighed and taken off the voltage. */
  readonly ratedWh?: number;
  /** Resistance learnt from the site's own steps, in place of the usual one. */
  readonly resistanceOhm?: number;
}

export interface VoltageCharge {
  readonly ratio: number;
  /** 10 % and 90 % ends of the band. */
  readonly lowRatio: number;
  readonly highRatio: number;
  readonly method: Extract<ChargeMethod, 'rest-voltage' | 'loaded-voltage'>;
}

const REST_RATE_PER_H = 1 / 20; // a current below C/20 leaves the voltage near rest
const UNKNOWN_RATE_PER_H = 1 / 5; // a current that cannot be weighed may be as large as C/5: common practice, no source
const READING_SIGMA_V_PER_CELL = 0.01; // research note of this project: σ of a node's divider and converter
const NINETY_PERCENT_SIGMAS = 1.28; // normal distribution, 10 % and 90 % points
const RESISTANCE_DOUBT = 0.5; // a usual resistance is good to a factor of two
const LOADED_WIDENING = 1.5; // assumption
const CHARGING_WIDENING = 2; // assumption: surface charge of lead–acid, charge branch of nickel–metal hydride

/**
 * Charge read from the voltage of a pack, always with its band.
 *
 * The current, where known, is taken off the voltage by the pack's resistance. The band is the spread of all published rest
 * curves over the error of the voltage, and never narrower than the chemistry's own; on a flat curve that is most of the scale.
 *
 * @param reading  voltage with what else is known; finite
 * @returns ratio 0 … 1 with low ≤ ratio ≤ high. 'rest-voltage' only when the current is known to be under C/20. A voltage no
 *          working pack of so many cells can show gives the band 0 … 1.
 * @throws EnergyInputError when a number is not finite or there is no cell
 * @accuracy covers other makes' published curves as asserted in test/reference/energy/battery-voltage.test.ts
 * @source `batteryOf(chemistry).sources`; compensation and band: ours, README
 */
export function chargeFromVoltage(reading: VoltageReading): VoltageCharge {
  const {
    chemistry,
    seriesCells,
    voltageV,
    currentA,
    batteryC = 25,
    ratedWh,
    resistanceOhm,
  } = reading;
  requireWithin('seriesCells', seriesCells, [1, 1000]);
  requireFinite('voltageV', voltageV);
  requireFinite('currentA', currentA ?? 0);
  requireFinite('batteryC', batteryC);
  if (ratedWh !== undefined)
    requireWithin('ratedWh', ratedWh, [Number.MIN_VALUE, Number.MAX_VALUE]);

  if (resistanceOhm !== undefined) {
    requireWithin('resistanceOhm', resistanceOhm, [0, Number.MAX_VALUE]);
  }

  const facts = reading.facts ?? batteryOf(chemistry);
  const drop = voltageDrop(facts, reading);
  const restV = (voltageV - drop.correctionV) / seriesCells;
  const ratio = interpolateInverse(facts.ocvPoints, restV);
  const method = drop.atRest ? 'rest-voltage' : 'loaded-voltage';
  const [lowestV, highestV] = facts.cellSpanV;
  if (voltageV / seriesCells < lowestV || voltageV / seriesCells > highestV) {
    return { ratio, lowRatio: 0, highRatio: 1, method };
  }

  const doubtV = NINETY_PERCENT_SIGMAS * READING_SIGMA_V_PER_CELL + drop.doubtV / seriesCells;
  const curves = [facts.ocvPoints, ...facts.otherOcvPoints];
  const leastHalfWidth = flatness(facts, ratio) * widening(facts, drop.atRest, currentA);
  return {
    ratio,
    lowRatio: Math.max(
      0,
      Math.min(
        ratio - leastHalfWidth,
        ...curves.map((curve) => interpolateInverse(curve, restV - doubtV)),
      ),
    ),
    highRatio: Math.min(
      1,
      Math.max(
        ratio + leastHalfWidth,
        ...curves.map((curve) => interpolateInverse(curve, restV + doubtV)),
      ),
    ),
    method,
  };
}

interface VoltageDrop {
  /** To be taken off the reading, V of the pack; positive while charging. */
  readonly correctionV: number;
  /** How wrong that may be, V of the pack. */
  readonly doubtV: number;
  readonly atRest: boolean;
}

function voltageDrop(facts: BatteryFacts, reading: VoltageReading): VoltageDrop {
  const { seriesCells, currentA, ratedWh, batteryC = 25, resistanceOhm } = reading;
  const ratedAh = ratedWh === undefined ? undefined : ratedWh / (facts.nominalCellV * seriesCells);
  const atRest =
    currentA !== undefined &&
    (currentA === 0 || (ratedAh !== undefined && Math.abs(currentA) < ratedAh * REST_RATE_PER_H));

  if (currentA !== undefined && resistanceOhm !== undefined) {
    const correctionV = currentA * resistanceOhm;
    return { correctionV, doubtV: Math.abs(correctionV) * 0.1, atRest };
  }
  if (currentA !== undefined && ratedWh !== undefined) {
    const correctionV = currentA * packResistanceOhm({ facts, seriesCells, ratedWh, batteryC });
    return { correctionV, doubtV: Math.abs(correctionV) * RESISTANCE_DOUBT, atRest };
  }
  const ratePerH = currentA === undefined ? REST_RATE_PER_H : atRest ? 0 : UNKNOWN_RATE_PER_H;
  const doubtV = seriesCells * facts.resistanceOhmAh * coldFactor(batteryC) * ratePerH;
  return { correctionV: 0, doubtV, atRest };
}

function flatness(facts: BatteryFacts, ratio: number): number {
  const { plateau } = facts;
  if (plateau === undefined || ratio < plateau.fromRatio || ratio > plateau.toRatio) {
    return facts.voltageBandRatio;
  }
  return plateau.bandRatio;
}

function widening(facts: BatteryFacts, atRest: boolean, currentA: number | undefined): number {
  if (atRest) return 1;
  return facts.chargeLiftsVoltage && (currentA ?? 0) > 0 ? CHARGING_WIDENING : LOADED_WIDENING;
}
