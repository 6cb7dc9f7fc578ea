import type { BatteryFacts } from './batteries/battery-facts.ts';

const HOURS_PER_MONTH = 730.5; // 365.25 days / 12
/** A battery leaks twice as fast for each 10 K: the lead–acid tables of the handbook halve from 20 to 10 °C. Taken for all. */
const KELVIN_PER_DOUBLING = 10;
/** The law is carried no further than this. */
const COLDEST_C = -20;
const HOTTEST_C = 60;

/**
 * Share of its charge a battery loses by itself in a month at a temperature.
 *
 * @param facts     of the chemistry
 * @param batteryC  °C; level below −20 and above 60
 * @returns share per month of 730.5 h, ≥ 0
 * @accuracy exact at the handbook's two temperatures for lead–acid, test/reference/energy/battery-ageing.test.ts
 * @source handbook “Energy Unlimited”, self-discharge table (lead–acid at 10 and 20 °C); the same doubling for lithium and nickel
 *         is common practice, no source
 */
export function selfDischargePerMonth(facts: BatteryFacts, batteryC: number): number {
  return facts.selfDischargePerMonth * doublings(batteryC - facts.selfDischargeAtC, batteryC);
}

/** Share lost per hour at 20 °C: what a pack carries. */
export function selfDischargePerHAt20C(facts: BatteryFacts): number {
  return selfDischargePerMonth(facts, 20) / HOURS_PER_MONTH;
}

function doublings(aboveC: number, batteryC: number): number {
  const within = Math.min(HOTTEST_C, Math.max(COLDEST_C, batteryC));
  return 2 ** ((aboveC + within - batteryC) / KELVIN_PER_DOUBLING);
}

/** How many times faster than at 20 °C, by whole degrees from −20 °C: a table, for the hot loop. */
const LEAK_FACTORS = Float64Array.from(
  { length: HOTTEST_C - COLDEST_C + 1 },
  (_, index) => 2 ** ((COLDEST_C + index - 20) / KELVIN_PER_DOUBLING),
);

/** How many times faster than at 20 °C a battery leaks, at the nearest whole degree. */
export function leakFactorAt(batteryC: number): number {
  const index = Math.round(batteryC) - COLDEST_C;
  return LEAK_FACTORS[Math.min(HOTTEST_C - COLDEST_C, Math.max(0, index))]!;
}
