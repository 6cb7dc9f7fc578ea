import { interpolate } from '../piecewise.ts';
import type { BatteryFacts } from './battery-facts.ts';

/** Adds what follows from the tables, so that no file states it twice. */
export function defineBattery(
  facts: Omit<BatteryFacts, 'chargeTemperatureC' | 'capacityFactorAt'>,
): BatteryFacts {
  return {
    ...facts,
    chargeTemperatureC: [
      Math.min(...facts.chargeBands.map((band) => band.fromC)),
      Math.max(...facts.chargeBands.map((band) => band.toC)),
    ],
    capacityFactorAt: (temperatureC) => interpolate(facts.capacityPoints, temperatureC),
  };
}
