import type { PowerSystem } from '@duskline/domain';
import type { BatteryFacts } from './batteries/battery-facts.ts';
import { batteryOf } from './batteries/battery-of.ts';
import { chargerOf } from './charger-facts.ts';
import { requireWithin } from './require-number.ts';

/** A pack with its charger and its levels, ready for the hourly balance. */
export interface BatteryPack {
  readonly facts: BatteryFacts;
  /** Present capacity at 25 °C: nameplate × health. */
  readonly capacityWh: number;
  readonly chargerEfficiency: number;
  readonly shutDownRatio: number;
  readonly restartRatio: number;
  readonly offStateDrawW: number;
}

/**
 * The pack of a node as the balance needs it.
 *
 * @param power                what the builder put up
 * @param options.healthRatio  present capacity as a share of the nameplate, > 0; 1 when left out
 * @throws EnergyInputError when a level is outside 0 … 1, the restart level is not above the shut-down level, or the capacity is
 *         not above zero
 */
export function batteryPackOf(
  power: PowerSystem,
  options: { readonly healthRatio?: number } = {},
): BatteryPack {
  const healthRatio = options.healthRatio ?? 1;
  requireWithin('battery.ratedWh', power.battery.ratedWh, [1e-6, Number.MAX_VALUE]);
  requireWithin('healthRatio', healthRatio, [1e-6, 10]);
  requireWithin('shutDownRatio', power.shutDownRatio, [0, 1]);
  requireWithin('restartRatio', power.restartRatio, [power.shutDownRatio + 1e-6, 1]);
  requireWithin('offStateDrawW', power.offStateDrawW, [0, Number.MAX_VALUE]);
  return {
    facts: batteryOf(power.battery.chemistry),
    capacityWh: power.battery.ratedWh * healthRatio,
    chargerEfficiency: chargerOf(power.charger).efficiency,
    shutDownRatio: power.shutDownRatio,
    restartRatio: power.restartRatio,
    offStateDrawW: power.offStateDrawW,
  };
}
