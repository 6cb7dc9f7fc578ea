import type { Outlook, OutlookFrame } from '@duskline/domain';
import { batteryPackOf } from '@duskline/energy';
import { drawPath, newPathDraw, type PathDoubt } from './draw-path.ts';
import type { ForecastInputs } from './forecast-inputs.ts';
import { ASSUMED_BATTERY_C } from './learn/battery-hours.ts';
import { learnSite, type SiteLearning } from './learn/learn-site.ts';
import type { YieldDay } from './learn/yield-days.ts';
import { summarise } from './outlook.ts';
import { DRIVER_DAYS, outlookDrivers, UNSEEN_RATIO } from './outlook-drivers.ts';
import { daysToEmpty, daysToReturn } from './path-times.ts';
import { seededRandom } from './seeded-random.ts';
import { newTracks, newWalker, type WalkPlan, walkPath } from './walk.ts';
import { daysOf, referenceByDay, walkPlan } from './walk-plan.ts';
import { OLDEST_CHARGE_DAYS, walkStart } from './walk-start.ts';
import { makeWeather } from './weather/index.ts';

const PATHS = 500;
const HORIZON_DAYS = 30;
/** Fewer days with a usable yield say nothing about the weather. */
const LEAST_DAYS = 3;
/** The clear sky ahead, as a share of the load ahead, below which the weather does not matter. */
const NO_SUN_SHARE = 0.1;

/** Name and version of the chain; the outlook adds where its figures came from. */
const MODEL = 'own-days 1';

/** An outlook with the paths behind it, for scoring. */
export interface ForecastPaths {
  readonly outlook: Outlook;
  /** Days from now to the shut-down level, ascending; Infinity = beyond the horizon. Left out with too little data. */
  readonly daysToEmpty?: Float64Array;
  /** Days from now to the restart level of a dark node, given that it is not back yet; likewise. */
  readonly daysToReturn?: Float64Array;
}

/**
 * The outlook of one node: what it has lived through, carried on in many possible weathers, hour by hour, until it is empty or,
 * once dark, until it is back.
 *
 * @param inputs  history with nulls where nothing was heard; nothing observed after `nowMs` is looked at
 * @returns an outlook; 'insufficient-data' when the charge, the load or three days of yield are not known
 * @throws RangeError when the seed is not a whole number; EnergyInputError when site or power system are out of range
 * @accuracy test/reference/forecast/backtest.test.ts prints its skill on real weather
 * @source ours: README
 */
export const forecastNode = (inputs: ForecastInputs): Outlook => forecastPaths(inputs).outlook;

/** As `forecastNode`, with the time of every path. */
export function forecastPaths(inputs: ForecastInputs): ForecastPaths {
  const { nowMs, position, power, history, dark } = inputs;
  const horizonDays = inputs.horizonDays ?? HORIZON_DAYS;
  const frame: OutlookFrame = {
    issuedAtMs: nowMs,
    horizonDays,
    model: MODEL,
    seed: inputs.seed,
    ...(dark === undefined ? {} : { whileDark: true }),
  };
  const start = walkStart(inputs);
  if (start === undefined)
    return insufficient(frame, `a charge reading of the last ${OLDEST_CHARGE_DAYS} days`, [0, 1]);

  const { startMs } = start;
  const pack = batteryPackOf(power);
  const learning = learnSite({ history, position, power, pack, startMs, untilMs: nowMs });
  if (learning === undefined)
    return insufficient(frame, 'load readings, or nights with charge readings', [0, 1]);

  const { load, recentFromDay, siteScale } = learning;
  const { days, temperatureC } = poolOf(learning);
  const startsAs = dark === undefined ? 'up' : 'dark';
  const where = { startMs, nowMs, horizonDays, position, power, pack };
  const plan = walkPlan({ ...where, load, temperatureC, startsAs });
  const have = learning.days.length;
  if (have < LEAST_DAYS && sunMatters(plan))
    return insufficient(frame, 'days with usable harvest readings', [have, LEAST_DAYS]);

  const weather = makeWeather({
    position,
    panel: power.panel,
    startMs,
    days: daysOf(plan),
    pool: { days, recentFromDay, siteScale },
    ...(inputs.clearnessByMonth !== undefined && { clearnessByMonth: inputs.clearnessByMonth }),
  });
  const { tracks, harvestWhPerDay } = walkAll(inputs, plan, {
    weather: weather.source,
    load,
    start,
    aboveRatio: dark === undefined ? power.shutDownRatio : Number.NEGATIVE_INFINITY,
  });
  const drivers = outlookDrivers({ learning, plan, startRatio: start.ratio, harvestWhPerDay });
  const explained = { ...frame, model: modelOf(learning) };
  const outlook = summarise(explained, { plan, tracks }, drivers);
  return startsAs === 'up'
    ? { outlook, daysToEmpty: daysToEmpty({ plan, tracks }, horizonDays) }
    : { outlook, daysToReturn: daysToReturn({ plan, tracks }, horizonDays) };
}

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

function walkAll({ seed, paths = PATHS }: ForecastInputs, plan: WalkPlan, doubt: PathDoubt) {
  const random = seededRandom(seed);
  const draw = newPathDraw(daysOf(plan));
  const tracks = newTracks(paths, plan.fan.count);
  const walker = newWalker(plan);
  const comingWh = referenceByDay(plan, DRIVER_DAYS * 24);
  const comingDays = comingWh.findLastIndex((energyWh) => energyWh > 0) + 1;
  let harvestWh = 0;
  for (let path = 0; path < paths; path++) {
    drawPath(doubt, random, draw);
    walkPath(walker, draw, tracks, path);
    for (let day = 0; day < comingDays; day++)
      harvestWh += comingWh[day]! * draw.ratio[day]! * draw.scale;
  }
  const coveredDays = Math.min(DRIVER_DAYS, plan.horizonH / 24);
  return { tracks, harvestWhPerDay: harvestWh / paths / coveredDays };
}

/** Says where each figure came from, so that an outlook explains itself. */
function modelOf({ load, harvestFrom, temperatureFrom }: SiteLearning): string {
  return `${MODEL}; load: ${load.from}; harvest: ${harvestFrom}; battery temperature: ${temperatureFrom}`;
}

function insufficient(
  frame: OutlookFrame,
  missing: string,
  [have, need]: readonly [number, number],
): ForecastPaths {
  return { outlook: { kind: 'insufficient-data', ...frame, missing, have, need } };
}
