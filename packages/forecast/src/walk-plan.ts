import { DAY_MS, HOUR_MS, type Position, type PowerSystem } from '@duskline/domain';
import { type BatteryPack, solarDayStartMs } from '@duskline/energy';
import { clearSkyHours } from './clear-sky-hours.ts';
import { type LoadProfile, utcHour } from './learn/load-profile.ts';
import type { ShadeBin } from './learn/learnt-site.ts';
import { applyShade } from './learn/shade.ts';
import type { WalkPlan } from './walk.ts';

const FAN_STEP_HOURS = 6;
const FAN_DAYS = 14;

/** Where and when a walk goes. */
export interface WalkPlace {
  /** Where the walk starts: when the charge was last known, a whole number of hours before now. */
  readonly startMs: number;
  /** The horizon and the fan count from here. */
  readonly nowMs: number;
  readonly horizonDays: number;
  readonly position: Position;
  readonly panel: PowerSystem['panel'];
  readonly shade: readonly ShadeBin[];
  readonly pack: BatteryPack;
  readonly load: LoadProfile;
  readonly temperatureC: Float32Array;
  readonly startsAs: 'up' | 'dark';
}

/**
 * The time ahead as all paths share it, by the hour in daylight.
 *
 * Night hours are walked in one stride as far as nothing changes but the hour: no sun, the same solar day, no hour at which
 * charge is noted. The energy is the same; only within the stride the load counts at its mean. It halves the work.
 *
 * @returns steps from the start to the horizon; the fan covers 14 days, or the horizon if that is nearer
 */
export function walkPlan(place: WalkPlace): WalkPlan {
  const { startMs, nowMs, horizonDays, position, panel, shade } = place;
  const nowH = Math.round((nowMs - startMs) / HOUR_MS);
  const totalH = nowH + Math.ceil(horizonDays * 24);
  const cloudlessWh = clearSkyHours({ position, panel, startMs, hours: totalH });
  const hourlyWh = applyShade(cloudlessWh, { startMs, position, shade });
  const todayMs = solarDayStartMs(startMs, position.longitudeDeg);
  const lengthH = new Uint8Array(totalH);
  const referenceW = new Float64Array(totalH);
  const loadW = new Float64Array(totalH);
  const day = new Uint16Array(totalH);
  const slot = new Uint8Array(totalH);

  let steps = 0;
  for (let hour = 0; hour < totalH; hour++) {
    const sinceTodayMs = startMs + (hour + 0.5) * HOUR_MS - todayMs;
    const itsDay = Math.floor(sinceTodayMs / DAY_MS);
    const itsLoadW = place.load.byUtcHourW[utcHour(startMs, hour)]!;
    const last = steps - 1;
    const isNight = hourlyWh[hour] === 0 && referenceW[last] === 0;
    if (isNight && itsDay === day[last] && (hour - nowH) % FAN_STEP_HOURS !== 0) {
      loadW[last] = (loadW[last]! * lengthH[last]! + itsLoadW) / (lengthH[last]! + 1);
      lengthH[last] = lengthH[last]! + 1;
      continue;
    }
    lengthH[steps] = 1;
    referenceW[steps] = hourlyWh[hour]!;
    loadW[steps] = itsLoadW;
    day[steps] = itsDay;
    slot[steps] = Math.floor((sinceTodayMs % DAY_MS) / HOUR_MS);
    steps++;
  }
  return {
    steps,
    lengthH,
    referenceW,
    loadW,
    day,
    slot,
    temperatureC: place.temperatureC,
    pack: place.pack,
    startsAs: place.startsAs,
    fan: {
      everyH: FAN_STEP_HOURS,
      count: Math.floor((Math.min(FAN_DAYS, horizonDays) * 24) / FAN_STEP_HOURS) + 1,
    },
    nowH,
    horizonH: totalH - nowH,
  };
}

/** Solar days the walk touches. */
export const daysOf = (plan: WalkPlan): number => (plan.day[plan.steps - 1] ?? 0) + 1;

/** Clear-sky energy of each simulated day that falls into the next hours from now, Wh. */
export function referenceByDay(plan: WalkPlan, hours: number): Float64Array {
  const byDay = new Float64Array(daysOf(plan));
  let atH = 0;
  for (let step = 0; step < plan.steps; step++) {
    const isCounted = atH >= plan.nowH && atH < plan.nowH + hours;
    const energyWh = plan.referenceW[step]! * plan.lengthH[step]!;
    if (isCounted) byDay[plan.day[step]!] = byDay[plan.day[step]!]! + energyWh;
    atH += plan.lengthH[step]!;
  }
  return byDay;
}
