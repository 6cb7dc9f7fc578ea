import type { HourlyHistory } from '@duskline/domain';
import { laggedBatteryC } from '@duskline/energy';

/** Battery temperature hour by hour, from the best there is. */
export interface BatteryHours {
  /** °C; meaningful where `known` is 1. */
  readonly temperatureC: Float32Array;
  readonly known: Uint8Array;
  readonly from: 'battery' | 'air' | 'assumed';
}

/** Taken when nothing measures it: no capacity table or charge limit bites there. Assumption, no source. */
export const ASSUMED_BATTERY_C = 10;

/**
 * Temperature of the battery: its own sensor, else the air smoothed by the lag of the box, else an assumption.
 *
 * @param history  hourly; nulls are gaps
 * @param count    hours [0, count) are looked at
 * @returns `known` is 0 in gaps; `from` says which source served
 */
export function batteryHours(history: HourlyHistory, count: number): BatteryHours {
  const temperatureC = new Float32Array(count);
  const known = new Uint8Array(count);
  if (history.batteryC.some((value) => value !== null)) {
    for (let i = 0; i < count; i++) {
      const value = history.batteryC[i] ?? null;
      if (value === null) continue;
      temperatureC[i] = value;
      known[i] = 1;
    }
    return { temperatureC, known, from: 'battery' };
  }
  if (!history.airC.some((value) => value !== null))
    return { temperatureC: temperatureC.fill(ASSUMED_BATTERY_C), known, from: 'assumed' };

  let lagged: number | undefined;
  for (let i = 0; i < count; i++) {
    const air = history.airC[i] ?? null;
    if (air === null) continue;
    lagged = lagged === undefined ? air : laggedBatteryC({ batteryC: lagged, airC: air, hours: 1 });
    temperatureC[i] = lagged;
    known[i] = 1;
  }
  return { temperatureC, known, from: 'air' };
}
