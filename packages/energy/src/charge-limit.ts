import type { BatteryFacts } from './batteries/battery-facts.ts';

/**
 * Fastest charge a battery takes at a temperature, before it nears full.
 *
 * @param temperatureC  of the cells, not of the air
 * @returns share of capacity per hour; 0 outside the charge temperatures. At a shared edge the warmer band counts.
 * @source bands of `batteryOf`
 */
export function chargeRateLimitPerH(facts: BatteryFacts, temperatureC: number): number {
  // From the warmest band down, by index: this stands in the hot loop.
  for (let index = facts.chargeBands.length - 1; index >= 0; index -= 1) {
    const band = facts.chargeBands[index]!;
    if (temperatureC >= band.fromC) return temperatureC <= band.toC ? band.ratePerH : 0;
  }
  return 0;
}

/**
 * Why a battery takes no charge at a temperature.
 *
 * @returns 'cold' or 'heat'; undefined when charging is allowed
 */
export function chargeBlock(
  facts: BatteryFacts,
  temperatureC: number,
): 'cold' | 'heat' | undefined {
  const [minC, maxC] = facts.chargeTemperatureC;
  if (temperatureC < minC) return 'cold';
  if (temperatureC > maxC) return 'heat';
  return undefined;
}
