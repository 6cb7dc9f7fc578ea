import { agedCapacity, type BatteryFacts } from '@duskline/energy';

const DAYS_PER_YEAR = 365.25;
/** How a battery that nobody watched is taken to have lived: 10 °C, mostly charged, a shallow cycle a day. Assumptions. */
const USUAL_LIFE = { batteryC: 10, chargeRatio: 0.6, depthRatio: 0.2 } as const;
/** A battery is replaced when it holds this much of its plate: stationary lead–acid by IEEE 450 and 1188, from memory. */
const WORN_OUT = 0.8;
/** No battery in the field is taken to be older. Assumption, no source. */
const MOST_YEARS = 10;
const STEPS_PER_YEAR = 4;

/** What the usual life of so many years has left of the plate. */
export const healthAfter = (facts: BatteryFacts, years: number): number =>
  agedCapacity(facts, { ...USUAL_LIFE, years, cycles: years * DAYS_PER_YEAR }).ratio;

/**
 * Capacity against the plate of a battery of which nobody said how old it is: any age from new to worn out, each as likely.
 *
 * To take it for new would be to err in one direction only, and a node whose battery seldom swings would keep that error for years.
 *
 * @returns mean and variance, without the scatter of batteries of one age
 * @source ours: mean of `agedCapacity` over an unknown age
 */
export function healthOfUnknownAge(facts: BatteryFacts): {
  readonly ratio: number;
  readonly variance: number;
} {
  const ratios: number[] = [];
  for (let step = 0; step <= MOST_YEARS * STEPS_PER_YEAR; step++) {
    const ratio = healthAfter(facts, step / STEPS_PER_YEAR);
    if (ratio < WORN_OUT) break;
    ratios.push(ratio);
  }
  const mean = ratios.reduce((sum, ratio) => sum + ratio, 0) / ratios.length;
  const variance = ratios.reduce((sum, ratio) => sum + (ratio - mean) ** 2, 0) / ratios.length;
  return { ratio: mean, variance };
}
