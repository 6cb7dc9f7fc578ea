import { advanceBattery, startBatteryWalk } from '../advance-battery.ts';
import type { BatteryPack } from '../battery-pack.ts';
import { EnergyInputError } from '../errors.ts';
import { requireWithin } from '../require-number.ts';

/** Days in a row, one entry a day. */
export interface DailyWeather {
  /** What a panel of 1 W gives that day at its best working point, Wh. */
  readonly harvestWhPerRatedW: Float64Array;
  /** From sunrise to sunset, h, 0 … 24. */
  readonly daylightH: Float64Array;
  /** Of the cells while the sun is up, °C. */
  readonly batteryC: Float64Array;
}

export interface DailyBalance {
  /** Hours shut down, of each day. */
  readonly darkH: Float64Array;
  /** What the panel could have given and nothing took, Wh over all days. */
  readonly spilledWh: number;
  /** Charge at the end, 0 … 1. */
  readonly chargeRatio: number;
}

/**
 * Walks a design through days of weather: day, night, each a step of the battery, from the first sunrise on. For a year or for
 * forty.
 *
 * @param pack            battery, charger and levels
 * @param design.panelW   rated power of the panel, ≥ 0 W; a direct charger's share already taken off
 * @param design.loadW    drawn while up, ≥ 0 W
 * @param weather         all three of one length
 * @param startRatio      charge before the first day; full when left out
 * @returns hours dark by day, each with the night after it
 * @throws EnergyInputError when lengths differ or a number is out of range
 * @accuracy within 0.1 day a month of hourly steps when harvest follows the sun through the day, walk-days.test.ts
 * @source ours: the balance of `advanceBattery`, harvest even over the daylight
 */
export function walkDays(
  pack: BatteryPack,
  design: { readonly panelW: number; readonly loadW: number },
  weather: DailyWeather,
  startRatio = 1,
): DailyBalance {
  const { panelW, loadW } = design;
  const { harvestWhPerRatedW, daylightH, batteryC } = weather;
  requireWithin('panelW', panelW, [0, Number.MAX_VALUE]);
  requireWithin('loadW', loadW, [0, Number.MAX_VALUE]);
  requireWithin('startRatio', startRatio, [0, 1]);
  const days = harvestWhPerRatedW.length;
  if (daylightH.length !== days || batteryC.length !== days) {
    throw new EnergyInputError('daylightH', `${daylightH.length} days`, `${days} days, as harvest`);
  }
  const darkH = new Float64Array(days);
  const walk = startBatteryWalk(startRatio);
  walk.loadW = loadW;
  let spilledWh = 0;
  const step = (day: number, harvestW: number, hours: number): void => {
    if (hours <= 0) return;
    walk.harvestW = harvestW;
    walk.hours = hours;
    advanceBattery(pack, walk);
    darkH[day] = darkH[day]! + hours - walk.upHours;
    spilledWh += walk.spilledWh;
  };
  for (let day = 0; day < days; day += 1) {
    const lightH = daylightH[day]!;
    walk.batteryC = batteryC[day]!;
    step(day, lightH > 0 ? (panelW * harvestWhPerRatedW[day]!) / lightH : 0, lightH);
    // The night that follows: half of this day's, half of the next one's. The last day ends at its own midnight.
    const nextLightH = day + 1 < days ? daylightH[day + 1]! : 24;
    step(day, 0, (24 - lightH) / 2 + (24 - nextLightH) / 2);
  }
  return { darkH, spilledWh, chargeRatio: walk.chargeRatio };
}
