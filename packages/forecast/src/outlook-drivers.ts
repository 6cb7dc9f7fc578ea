import type { OutlookDrivers } from '@duskline/domain';
import { capacityWhAt } from '@duskline/energy';
import { typicalRatios } from './learn/donors.ts';
import type { SiteLearning } from './learn/learn-site.ts';
import type { WalkPlan, WalkTracks } from './walk.ts';

export const DRIVER_DAYS = 7;
/** Ten years stand for "as good as for ever". */
const MOST_RESERVE_DAYS = 3650;

/** Taken for the yield where no day told it. Assumption, no source. */
export const UNSEEN_RATIO = 0.5;

/**
 * What pushes the outlook, in figures a person can check.
 *
 * @param found.startRatio       charge the paths start around, 0–1
 * @param found.harvestWhPerDay  mean over all paths of what the panel could give in the next seven days
 */
export function outlookDrivers(found: {
  readonly learning: SiteLearning;
  readonly plan: WalkPlan;
  readonly tracks: WalkTracks;
  readonly startRatio: number;
  readonly harvestWhPerDay: number;
}): OutlookDrivers {
  const { learning, plan, tracks, startRatio, harvestWhPerDay } = found;
  const { pack } = plan;
  const loadWhPerDay = learning.load.byUtcHourW.reduce((sum, loadW) => sum + loadW, 0);
  const usableRatio = Math.max(0, startRatio - pack.shutDownRatio);
  const reserveWh =
    usableRatio * capacityWhAt(pack, newestTemperatureC(plan)) * pack.dischargeEfficiency;
  const reserveDays = loadWhPerDay > 0 ? reserveWh / loadWhPerDay : MOST_RESERVE_DAYS;
  return {
    harvestWhPerDay,
    loadWhPerDay,
    reserveWh,
    noSunReserveDays: Math.min(MOST_RESERVE_DAYS, reserveDays),
    harvestRatio: harvestRatioOf(learning),
    historyDays: learning.days.length,
    spilledWhPerDay: spilledWhPerDay(plan, tracks),
  };
}

/** From the start of the walk to the end of the fan, mean of all paths. */
function spilledWhPerDay({ nowH, fan }: WalkPlan, { spilledWh }: WalkTracks): number {
  const days = (nowH + (fan.count - 1) * fan.everyH) / 24;
  return spilledWh.reduce((sum, energyWh) => sum + energyWh, 0) / spilledWh.length / days;
}

/** The newest pool day stands for now. */
function newestTemperatureC({ temperatureC }: WalkPlan): number {
  return temperatureC.subarray(-24).reduce((sum, value) => sum + value, 0) / 24;
}

/** Mean over the last weeks heard, censored days at the middle of what they may have been. */
function harvestRatioOf({ days, recentFromDay, siteScale }: SiteLearning): number {
  const recent = typicalRatios(days, siteScale).filter((_, i) => days[i]!.day >= recentFromDay);
  if (recent.length === 0) return UNSEEN_RATIO;
  return recent.reduce((sum, ratio) => sum + ratio, 0) / recent.length;
}
