import type { HourlyHistory, Position, PowerSystem } from '@duskline/domain';
import type { BatteryPack } from '@duskline/energy';
import { ASSUMED_BATTERY_C, type BatteryHours, batteryHours } from './battery-hours.ts';
import { type HarvestHours, harvestHours } from './harvest-hours.ts';
import { flagHours } from './hour-flags.ts';
import { type LoadProfile, loadProfile } from './load-profile.ts';
import { type PastHours, pastHours } from './past-hours.ts';
import { siteScale } from './site-scale.ts';
import { type YieldDay, yieldDays } from './yield-days.ts';

/** All that was learnt of a site from its own past. */
export interface SiteLearning {
  readonly load: LoadProfile;
  /** Days whose yield is known or bounded, ascending; may be empty. */
  readonly days: readonly YieldDay[];
  /** First solar day of the last weeks heard; earlier ones are the same season of other years. */
  readonly recentFromDay: number;
  /** Envelope of the panel against its nameplate. */
  readonly siteScale: number;
  /** Battery temperature, °C, by pool day and hour of the solar day: `[index · 24 + slot]`. */
  readonly temperatureC: Float32Array;
  readonly harvestFrom: HarvestHours['from'];
  readonly temperatureFrom: BatteryHours['from'];
}

/**
 * Learns load, yields, scale and temperatures from the hourly past.
 *
 * @param inputs.startMs  where the forecast starts; days are counted from its solar day
 * @param inputs.untilMs  nothing observed from here on is used
 * @returns undefined when nothing tells the load: no load reading, and no night with charge readings
 */
export function learnSite(inputs: {
  readonly history: HourlyHistory;
  readonly position: Position;
  readonly power: PowerSystem;
  readonly pack: BatteryPack;
  readonly startMs: number;
  readonly untilMs: number;
}): SiteLearning | undefined {
  const { history, position, power, pack, startMs, untilMs } = inputs;
  const past = pastHours({ history, position, panel: power.panel, startMs, untilMs });
  const load = loadProfile(past, pack.capacityWh);
  if (load === undefined) return undefined;

  const hours = batteryHours(history, past.count);
  const harvest = harvestHours(past, load, pack);
  const { seriesCells } = power.battery;
  const flags = flagHours(past, harvest, { hours, facts: pack.facts, seriesCells });
  const facts = { flags, ratedW: power.panel.ratedW };
  const days = yieldDays(past, harvest, facts);
  const recent = past.spans.at(-1);
  return {
    load,
    days,
    recentFromDay: recent === undefined ? 0 : past.day[recent.from]!,
    siteScale: siteScale(past, harvest, facts),
    temperatureC: temperaturesOf(days, past, hours),
    harvestFrom: harvest.from,
    temperatureFrom: hours.from,
  };
}

/** Gaps take the mean of their day, a day without any the mean of all. */
function temperaturesOf(
  days: readonly YieldDay[],
  past: PastHours,
  battery: BatteryHours,
): Float32Array {
  const overallC = meanOver(battery, 0, past.count) ?? ASSUMED_BATTERY_C;
  const table = new Float32Array(days.length * 24);
  days.forEach(({ firstHour, day }, index) => {
    let end = firstHour;
    while (end < past.count && past.day[end] === day) end++;
    table.fill(meanOver(battery, firstHour, end) ?? overallC, index * 24, index * 24 + 24);
    for (let i = firstHour; i < end; i++)
      if (battery.known[i] === 1) table[index * 24 + past.slot[i]!] = battery.temperatureC[i]!;
  });
  return table;
}

function meanOver(battery: BatteryHours, from: number, to: number): number | undefined {
  let sum = 0;
  let known = 0;
  for (let i = from; i < to; i++)
    if (battery.known[i] === 1) {
      sum += battery.temperatureC[i]!;
      known++;
    }
  return known === 0 ? undefined : sum / known;
}
