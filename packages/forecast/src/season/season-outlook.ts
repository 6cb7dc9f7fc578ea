import { DAY_MS, HOUR_MS } from '@duskline/domain';
import { advanceBattery, startBatteryWalk } from '@duskline/energy';
import { drawPath, newPathDraw } from '../draw-path.ts';
import type { ForecastInputs } from '../forecast-inputs.ts';
import { LEAST_DARK_H } from '../least-dark-h.ts';
import { type PreparedWalk, prepareWalk, type TooLittleData } from '../prepare-walk.ts';
import { seededRandom } from '../seeded-random.ts';
import { daysOf } from '../walk-plan.ts';
import { temperatureOfSeason } from '../weather/season-temperature.ts';

const SEASON_DAYS = 365;
const SEASON_PATHS = 200;
/** Temperatures are carried over to the season in steps of so many days. */
const TEMPERATURE_DAYS = 30;

/** One calendar month (UTC) of the year ahead. */
export interface SeasonMonth {
  /** `2026-12` */
  readonly month: string;
  /** Share of the paths that are dark at some time in it; never quite 0 or 1. */
  readonly darkProbability: number;
  /** Mean of all paths. */
  readonly darkDays: number;
  /** Days of the month that are looked at: the first and the last may be cut. */
  readonly days: number;
}

export interface SeasonOutlook {
  readonly kind: 'season';
  readonly issuedAtMs: number;
  readonly seed: number;
  readonly months: readonly SeasonMonth[];
  readonly says: string;
}

/**
 * Whether the node will live through its worst month: chance of dark and dark days, month by month for a year.
 *
 * The paths go dark and come back as often as they must. Weather as in the outlook: own days and the climate of the place, each
 * carried over to the date; no outside forecast, which says nothing of next spring. The load is taken to stay as it is; a
 * harvest that has stopped is taken for mended, for nobody leaves it so for a year.
 *
 * @param inputs  as for `forecastNode`; `paths` 200 when left out
 */
export function seasonOutlook(inputs: ForecastInputs): SeasonOutlook | TooLittleData {
  const { outside, ...own } = inputs;
  void outside;
  const paths = inputs.paths ?? SEASON_PATHS;
  const now = prepareWalk({ ...own, paths, horizonDays: SEASON_DAYS });
  if (now.kind === 'too-little') return now;
  const prepared = now.mended === undefined ? now : { ...now, plan: now.mended };
  const months = monthsOf(prepared);
  const darkHours = walkSeason(prepared, { seed: inputs.seed, paths, months });
  const found = months.names.map((month, index) => {
    let dark = 0;
    let hours = 0;
    for (let path = 0; path < paths; path++) {
      const spent = darkHours[path * months.names.length + index]!;
      if (spent > LEAST_DARK_H) dark++;
      hours += spent;
    }
    return {
      month,
      darkProbability: (dark + 0.5) / (paths + 1),
      darkDays: hours / paths / 24,
      days: months.hours[index]! / 24,
    };
  });
  return {
    kind: 'season',
    issuedAtMs: inputs.nowMs,
    seed: inputs.seed,
    months: found,
    says:
      inputs.harvestStop === undefined
        ? saysOf(found)
        : `${saysOf(found)} Its harvest is taken for mended now.`,
  };
}

interface Months {
  readonly names: readonly string[];
  /** Month of each step; −1: before now. */
  readonly ofStep: Int8Array;
  /** Hours of each month that are walked. */
  readonly hours: readonly number[];
}

function monthsOf({ plan, place }: PreparedWalk): Months {
  const names: string[] = [];
  const hours: number[] = [];
  const ofStep = new Int8Array(plan.steps).fill(-1);
  let atH = 0;
  for (let step = 0; step < plan.steps; step++) {
    if (atH >= plan.nowH) {
      const name = new Date(place.startMs + (atH + 0.5) * HOUR_MS).toISOString().slice(0, 7);
      if (names.at(-1) !== name) {
        names.push(name);
        hours.push(0);
      }
      ofStep[step] = names.length - 1;
      hours[names.length - 1]! += plan.lengthH[step]!;
    }
    atH += plan.lengthH[step]!;
  }
  return { names, ofStep, hours };
}

/** @returns hours dark by path and month: `[path · months + month]` */
function walkSeason(
  prepared: PreparedWalk,
  {
    seed,
    paths,
    months,
  }: { readonly seed: number; readonly paths: number; readonly months: Months },
): Float64Array {
  const { plan, doubt } = prepared;
  const random = seededRandom(seed);
  const draw = newPathDraw(daysOf(plan));
  const temperatureC = temperaturesThroughTheYear(prepared);
  const rows = plan.temperatureC.length / 24;
  const darkHours = new Float64Array(paths * months.names.length);
  const pack: { -readonly [Key in keyof typeof plan.pack]: (typeof plan.pack)[Key] } = {
    ...plan.pack,
  };
  const battery = startBatteryWalk(0, plan.startsAs);
  for (let path = 0; path < paths; path++) {
    drawPath(doubt, random, draw);
    const flow = 1 / draw.capacityFactor;
    pack.offStateDrawW = plan.pack.offStateDrawW * flow;
    battery.chargeRatio = draw.startRatio;
    battery.dark = plan.startsAs === 'dark';
    for (let step = 0; step < plan.steps; step++) {
      const day = plan.day[step]!;
      const row = draw.poolDay[day]! + rows * Math.floor(day / TEMPERATURE_DAYS);
      const spread = plan.dayShape?.[draw.poolDay[day]! * 24 + plan.slot[step]!] ?? 1;
      battery.hours = plan.lengthH[step]!;
      battery.harvestW = plan.referenceW[step]! * draw.ratio[day]! * spread * draw.scale * flow;
      battery.loadW = plan.loadW[step]! * draw.loadFactor[day]! * flow;
      battery.batteryC = temperatureC[row * 24 + plan.slot[step]!]!;
      advanceBattery(pack, battery);
      const month = months.ofStep[step]!;
      if (month >= 0)
        darkHours[path * months.names.length + month]! += battery.hours - battery.upHours;
    }
  }
  return darkHours;
}

/** The pool's temperatures once for every thirty days ahead, one table after the other. */
function temperaturesThroughTheYear({ plan, place, learning }: PreparedWalk): Float32Array {
  const tables = Math.floor((daysOf(plan) - 1) / TEMPERATURE_DAYS) + 1;
  const all = new Float32Array(tables * plan.temperatureC.length);
  for (let table = 0; table < tables; table++) {
    const shiftDays = table * TEMPERATURE_DAYS;
    const isKnown = learning.temperatureFrom !== 'assumed' && learning.days.length > 0;
    const ahead = isKnown
      ? temperatureOfSeason(
          learning.temperatureC,
          learning.days.map((day) => ({ ...day, day: day.day - shiftDays })),
          {
            startMs: place.startMs + shiftDays * DAY_MS,
            latitudeDeg: place.position.latitudeDeg,
          },
        )
      : plan.temperatureC;
    all.set(ahead, table * plan.temperatureC.length);
  }
  return all;
}

/** "2027-01" as "January 2027". */
function monthWords(month: string): string {
  const [year = '', number = ''] = month.split('-');
  return `${MONTHS[Number(number) - 1] ?? number} ${year}`;
}
const MONTHS = [
  ...['January', 'February', 'March', 'April', 'May', 'June', 'July', 'August'],
  ...['September', 'October', 'November', 'December'],
] as const;

function saysOf(months: readonly SeasonMonth[]): string {
  const worst = months.reduce((a, b) => (b.darkDays > a.darkDays ? b : a));
  if (worst.darkDays < 0.05) return 'It should live through the year ahead without going dark.';
  return (
    `Most of its dark days fall in ${monthWords(worst.month)}: ${worst.darkDays.toFixed(1)} on average, and it is dark in that month ` +
    `in ${Math.round(100 * worst.darkProbability)} % of the weather histories.`
  );
}
