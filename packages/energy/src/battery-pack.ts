import type { PowerSystem } from '@duskline/domain';
import type { BatteryFacts } from './batteries/battery-facts.ts';
import { batteryFactsOf } from './batteries/custom-battery.ts';
import { chargerOf } from './charger-facts.ts';
import { requireWithin } from './require-number.ts';
import { selfDischargePerHAt20C } from './self-discharge.ts';

/** Below this share of the ceiling a charger calls the battery full: C/30 of a ceiling of C/2. Common practice, no source. */
export const TAPER_FLOOR = 1 / 15;

const COLDEST_C = -80;
const HOTTEST_C = 120;

/** A pack with its charger and its levels, ready for the hourly balance: every number the hot loop needs, at hand. */
export interface BatteryPack {
  readonly facts: BatteryFacts;
  /** Present capacity at 25 °C: nameplate × health. */
  readonly capacityWh: number;
  /** Present capacity at each whole degree from −80 to 120 °C; read through `capacityWhAt`. */
  readonly capacityWhByDegree: Float64Array;
  readonly chargeEfficiency: number;
  readonly dischargeEfficiency: number;
  /** Share lost per hour at 20 °C; `leakFactorAt` carries it to other temperatures. */
  readonly selfDischargePerH: number;
  readonly taperWidthRatio: number;
  /** From here to full the charger gives its small finishing current. */
  readonly finishRatio: number;
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
  const facts = batteryFactsOf(power.battery);
  const capacityWh = power.battery.ratedWh * healthRatio;
  return {
    facts,
    capacityWh,
    capacityWhByDegree: Float64Array.from(
      { length: HOTTEST_C - COLDEST_C + 1 },
      (_, index) => capacityWh * facts.capacityFactorAt(COLDEST_C + index),
    ),
    chargeEfficiency: facts.chargeEfficiency,
    dischargeEfficiency: facts.dischargeEfficiency,
    selfDischargePerH: selfDischargePerHAt20C(facts),
    taperWidthRatio: facts.taperWidthRatio,
    finishRatio: 1 - facts.taperWidthRatio * TAPER_FLOOR,
    chargerEfficiency: chargerOf(power.charger).efficiency,
    shutDownRatio: power.shutDownRatio,
    restartRatio: power.restartRatio,
    offStateDrawW: power.offStateDrawW,
  };
}

/**
 * Capacity of a pack at a temperature, from its table: the same as `facts.capacityFactorAt`, whose points stand at whole degrees,
 * in a tenth of the time.
 *
 * @param batteryC  °C; level beyond −80 and 120
 * @returns Wh
 */
export function capacityWhAt(pack: BatteryPack, batteryC: number): number {
  const place = Math.min(HOTTEST_C - COLDEST_C - 1, Math.max(0, batteryC - COLDEST_C));
  const index = Math.trunc(place);
  const low = pack.capacityWhByDegree[index]!;
  return low + (pack.capacityWhByDegree[index + 1]! - low) * (place - index);
}
