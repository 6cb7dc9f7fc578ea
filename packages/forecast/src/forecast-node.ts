import {
  type ChargeEstimate,
  DAY_MS,
  HOUR_MS,
  type Outlook,
  type OutlookDrivers,
  type OutlookFrame,
} from '@duskline/domain';
import { batteryPackOf, capacityWhAt } from '@duskline/energy';
import { drawPath, newPathDraw, type PathDoubt } from './draw-path.ts';
import type { ForecastInputs } from './forecast-inputs.ts';
import { ASSUMED_BATTERY_C } from './learn/battery-hours.ts';
import { learnSite, type SiteLearning } from './learn/learn-site.ts';
import type { YieldDay } from './learn/yield-days.ts';
import { summarise } from './outlook.ts';
import { seededRandom } from './seeded-random.ts';
import { newTracks, type WalkPlan, walkPath } from './walk.ts';
import { daysOf, referenceByDay, walkPlan } from './walk-plan.ts';
import { blockResample } from './weather/index.ts';

const PATHS = 500;
const HORIZON_DAYS = 30;
/** Fewer days with a usable yield say nothing about the weather. */
const LEAST_DAYS = 3;
/** A charge older than this tells nothing of a node that should be up. */
const OLDEST_CHARGE_DAYS = 14;
/** A silence is followed back no further; the walk starts here instead. */
const LONGEST_DARK_DAYS = 120;
/** The clear sky ahead, as a share of the load ahead, below which the weather does not matter. */
const NO_SUN_SHARE = 0.1;
/** Taken for the yield where the weather does not matter and no day told it. Assumption, no source. */
const UNSEEN_RATIO = 0.5;
/** 10 % and 90 % ends of a normal band, in standard deviations from its middle. */
const BAND_SIGMAS = 1.2816;
/** How exactly the charge at the moment of stopping is known. Assumption, no source. */
const STOP_SIGMA = 0.02;
const DRIVER_DAYS = 7;
/** Ten years stand for "as good as for ever". */
const MOST_RESERVE_DAYS = 3650;

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
export function forecastNode(inputs: ForecastInputs): Outlook {
  const { nowMs, position, power, history, dark } = inputs;
  const frame = {
    issuedAtMs: nowMs,
    horizonDays: inputs.horizonDays ?? HORIZON_DAYS,
    model: 'own-days 1',
    seed: inputs.seed,
  };
  const start = startOf(inputs);
  if (start === undefined)
    return insufficient(frame, `a charge reading of the last ${OLDEST_CHARGE_DAYS} days`, [0, 1]);

  const pack = batteryPackOf(power);
  const learning = learnSite({
    history,
    position,
    power,
    pack,
    startMs: start.startMs,
    untilMs: nowMs,
  });
  if (learning === undefined)
    return insufficient(frame, 'days with load readings, or nights with charge readings', [0, 1]);

  const pool = poolOf(learning);
  const plan = walkPlan({
    startMs: start.startMs,
    nowMs,
    horizonDays: frame.horizonDays,
    position,
    power,
    pack,
    load: learning.load,
    temperatureC: pool.temperatureC,
    startsAs: dark === undefined ? 'up' : 'dark',
  });
  if (learning.days.length < LEAST_DAYS && sunMatters(plan))
    return insufficient(frame, 'days with usable harvest readings', [
      learning.days.length,
      LEAST_DAYS,
    ]);

  const simulatedDays = daysOf(plan);
  const { recentFromDay, siteScale } = learning;
  const doubt: PathDoubt = {
    weather: blockResample({ days: pool.days, recentFromDay, siteScale }, simulatedDays),
    load: learning.load,
    start,
    aboveRatio: dark === undefined ? power.shutDownRatio : Number.NEGATIVE_INFINITY,
  };
  const walked = walkAll(plan, doubt, inputs);
  const drivers = driversOf(inputs, { learning, plan, start, harvestWh: walked.harvestWh });
  return summarise({ ...frame, model: modelOf(learning) }, { plan, ...walked }, drivers);
}

interface WalkStart {
  readonly startMs: number;
  readonly ratio: number;
  readonly sigmaLow: number;
  readonly sigmaHigh: number;
}

/** A whole number of hours before now, nearest to when the charge was last known. */
function startOf({ nowMs, charge, dark }: ForecastInputs): WalkStart | undefined {
  const hoursBack = (sinceMs: number): number =>
    nowMs - Math.max(0, Math.round((nowMs - sinceMs) / HOUR_MS)) * HOUR_MS;
  if (dark !== undefined) {
    const earliestMs = nowMs - LONGEST_DARK_DAYS * DAY_MS;
    const startMs = hoursBack(Math.max(dark.sinceMs, earliestMs));
    return { startMs, ratio: dark.chargeRatio, sigmaLow: STOP_SIGMA, sigmaHigh: STOP_SIGMA };
  }
  if (charge === undefined || charge.observedAtMs < nowMs - OLDEST_CHARGE_DAYS * DAY_MS)
    return undefined;
  return { startMs: hoursBack(charge.observedAtMs), ratio: charge.ratio, ...sigmasOf(charge) };
}

function sigmasOf({ ratio, lowRatio, highRatio }: ChargeEstimate) {
  return {
    sigmaLow: Math.max(0, ratio - lowRatio) / BAND_SIGMAS,
    sigmaHigh: Math.max(0, highRatio - ratio) / BAND_SIGMAS,
  };
}

/** The days to draw from; a stand-in where the sun does not matter and none was seen. */
function poolOf({ days, temperatureC }: SiteLearning): {
  readonly days: readonly YieldDay[];
  readonly temperatureC: Float32Array;
} {
  if (days.length > 0) return { days, temperatureC };
  return {
    days: [
      {
        day: Number.MIN_SAFE_INTEGER,
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

function walkAll(plan: WalkPlan, doubt: PathDoubt, inputs: ForecastInputs) {
  const paths = inputs.paths ?? PATHS;
  const random = seededRandom(inputs.seed);
  const draw = newPathDraw(daysOf(plan));
  const tracks = newTracks(paths, plan.fan.count);
  const weekReferenceWh = referenceByDay(plan, DRIVER_DAYS * 24);
  let harvestWh = 0;
  for (let path = 0; path < paths; path++) {
    drawPath(doubt, random, draw);
    walkPath(plan, draw, tracks, path);
    for (let day = 0; day < weekReferenceWh.length; day++)
      harvestWh += weekReferenceWh[day]! * draw.ratio[day]! * draw.scale;
  }
  return { tracks, harvestWh: harvestWh / paths };
}

function driversOf(
  { power, horizonDays = HORIZON_DAYS }: ForecastInputs,
  found: {
    readonly learning: SiteLearning;
    readonly plan: WalkPlan;
    readonly start: WalkStart;
    readonly harvestWh: number;
  },
): OutlookDrivers {
  const { learning, plan, start, harvestWh } = found;
  const { dischargeEfficiency } = plan.pack;
  const loadWhPerDay = learning.load.byUtcHourW.reduce((sum, loadW) => sum + loadW, 0);
  const reserveWh =
    Math.max(0, start.ratio - power.shutDownRatio) *
    capacityWhAt(plan.pack, newestTemperatureC(plan)) *
    dischargeEfficiency;
  return {
    harvestWhPerDay: harvestWh / Math.min(DRIVER_DAYS, horizonDays),
    loadWhPerDay,
    reserveWh,
    noSunReserveDays: Math.min(
      MOST_RESERVE_DAYS,
      loadWhPerDay > 0 ? reserveWh / loadWhPerDay : MOST_RESERVE_DAYS,
    ),
    harvestRatio: typicalRatio(learning),
    historyDays: learning.days.length,
  };
}

/** The newest pool day stands for now. */
function newestTemperatureC({ temperatureC }: WalkPlan): number {
  return temperatureC.subarray(-24).reduce((sum, value) => sum + value, 0) / 24;
}

function typicalRatio({ days, recentFromDay, siteScale }: SiteLearning): number {
  const recent = days.filter(({ day }) => day >= recentFromDay);
  if (recent.length === 0) return UNSEEN_RATIO;
  const sum = recent.reduce(
    (total, day) => total + (day.isCensored ? Math.max(day.ratio, siteScale) : day.ratio),
    0,
  );
  return sum / recent.length;
}

/** Says where each figure came from, so that an outlook explains itself. */
function modelOf({ load, harvestFrom, temperatureFrom }: SiteLearning): string {
  return `own-days 1; load: ${load.from}; harvest: ${harvestFrom}; battery temperature: ${temperatureFrom}`;
}

function insufficient(
  frame: OutlookFrame,
  missing: string,
  [have, need]: readonly [number, number],
): Outlook {
  return { kind: 'insufficient-data', ...frame, missing, have, need };
}
