import type { OutlookWeather } from '@duskline/domain';
import { batteryPackOf } from '@duskline/energy';
import { CAPACITY_SIGMA, type PathDoubt, SCALE_SIGMA } from './draw-path.ts';
import type { ForecastInputs } from './forecast-inputs.ts';
import { ASSUMED_BATTERY_C } from './learn/battery-hours.ts';
import { learnSite, type SiteLearning } from './learn/learn-site.ts';
import type { YieldDay } from './learn/yield-days.ts';
import { UNSEEN_RATIO } from './outlook-drivers.ts';
import type { WalkPlan } from './walk.ts';
import { daysOf, type WalkPlace, walkPlan } from './walk-plan.ts';
import { OLDEST_CHARGE_DAYS, walkStart, type WalkStart } from './walk-start.ts';
import { makeWeather } from './weather/index.ts';

export const HORIZON_DAYS = 30;
/** Fewer days with a usable yield do not even show that the panel is connected. */
const LEAST_DAYS = 1;
/** The clear sky ahead, as a share of the load ahead, below which the weather does not matter. */
const NO_SUN_SHARE = 0.1;
/** Doubt about a panel known by its nameplate alone, and the days that halve it. Assumptions, no source. */
const NAMEPLATE_SIGMA = 0.17;
const NAMEPLATE_DAYS = 5;

/** All that is needed to walk the paths of a node. */
export interface PreparedWalk {
  readonly kind: 'ready';
  readonly learning: SiteLearning;
  readonly start: WalkStart;
  readonly place: WalkPlace;
  readonly plan: WalkPlan;
  readonly doubt: PathDoubt;
  /** What the weather was made from. */
  readonly weatherUse: OutlookWeather;
}

/** What is short, in words, and how much of it there is. */
export interface TooLittleData {
  readonly kind: 'too-little';
  readonly missing: string;
  readonly have: number;
  readonly need: number;
}

/** Learns the site and lays out the time ahead, up to where chance begins. */
export function prepareWalk(inputs: ForecastInputs): PreparedWalk | TooLittleData {
  const { nowMs, position, power, history, dark, learnt } = inputs;
  const horizonDays = inputs.horizonDays ?? HORIZON_DAYS;
  const start = walkStart(inputs);
  if (start === undefined)
    return tooLittle(`a charge reading of the last ${OLDEST_CHARGE_DAYS} days`, 0, 1);

  const { startMs } = start;
  const health = learnt?.battery.health.value;
  const pack = batteryPackOf(power, health === undefined ? {} : { healthRatio: health });
  const facts = { history, position, power, pack, startMs, untilMs: nowMs };
  const learning = learnSite(learnt === undefined ? facts : { ...facts, learnt });
  if (learning === undefined)
    return tooLittle('load readings, or nights with charge readings', 0, 1);

  const { load, recentFromDay, siteScale, panel, shade } = learning;
  const { days, temperatureC } = poolOf(learning);
  const startsAs = dark === undefined ? 'up' : 'dark';
  const where = { startMs, nowMs, horizonDays, position, panel, shade, pack };
  const bare = walkPlan({ ...where, load, temperatureC, startsAs });
  const have = learning.days.length;
  if (have < LEAST_DAYS && sunMatters(bare))
    return tooLittle('days with usable harvest readings', have, LEAST_DAYS);

  const weather = makeWeather({
    position,
    panel,
    startMs,
    days: daysOf(bare),
    pool: { days, recentFromDay, siteScale },
    temperatureC,
    isTemperatureMeasured: learning.temperatureFrom !== 'assumed' && learning.days.length > 0,
    ...(inputs.outside !== undefined && { outside: inputs.outside }),
    ...(inputs.evenDays !== undefined && { evenDays: inputs.evenDays }),
    ...(inputs.clearnessByMonth !== undefined && { clearnessByMonth: inputs.clearnessByMonth }),
  });
  const doubt: PathDoubt = {
    weather: weather.source,
    load,
    start,
    aboveRatio: dark === undefined ? power.shutDownRatio : Number.NEGATIVE_INFINITY,
    scaleSigma: Math.hypot(
      SCALE_SIGMA,
      (NAMEPLATE_SIGMA * NAMEPLATE_DAYS) / (NAMEPLATE_DAYS + have),
    ),
    capacitySigma:
      learnt === undefined
        ? CAPACITY_SIGMA
        : Math.sqrt(learnt.battery.filter.variance) / learnt.battery.health.value,
  };
  const place: WalkPlace = { ...where, load, temperatureC: weather.temperatureC, startsAs };
  const dayShape = new Float32Array(weather.temperatureC.length).fill(1);
  dayShape.set(learning.dayShape);
  const plan: WalkPlan = { ...bare, temperatureC: weather.temperatureC, dayShape };
  return { kind: 'ready', learning, start, place, plan, doubt, weatherUse: weather.use };
}

const tooLittle = (missing: string, have: number, need: number): TooLittleData => ({
  kind: 'too-little',
  missing,
  have,
  need,
});

/** The days to draw from; a stand-in where the sun does not matter and none was seen. */
function poolOf({ days, temperatureC, recentFromDay }: SiteLearning): {
  readonly days: readonly YieldDay[];
  readonly temperatureC: Float32Array;
} {
  if (days.length > 0) return { days, temperatureC };
  return {
    days: [
      {
        day: recentFromDay,
        ratio: UNSEEN_RATIO,
        isCensored: false,
        heardShare: 1,
        firstHour: 0,
      },
    ],
    temperatureC: new Float32Array(24).fill(ASSUMED_BATTERY_C),
  };
}

/** Not in polar night: there the load alone decides, and days of yield cannot be had. */
function sunMatters({ steps, lengthH, referenceW, loadW }: WalkPlan): boolean {
  let sunWh = 0;
  let loadWh = 0;
  for (let step = 0; step < steps; step++) {
    sunWh += referenceW[step]! * lengthH[step]!;
    loadWh += loadW[step]! * lengthH[step]!;
  }
  return sunWh > NO_SUN_SHARE * loadWh;
}
