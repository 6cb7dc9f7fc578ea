import {
  DAY_MS,
  type HourlyHistory,
  HOUR_MS,
  type Position,
  type PowerSystem,
} from '@duskline/domain';
import { agedCapacity, batteryPackOf, solarDayStartMs } from '@duskline/energy';
import { batteryResistance } from './battery-resistance.ts';
import { batterySwings } from './battery-swings.ts';
import { clearDays } from './clear-days.ts';
import { typicalRatios } from './donors.ts';
import { followHealth } from './follow-health.ts';
import { BAND_SIGMAS, freshLearnt } from './fresh-learnt.ts';
import { learnSite, type SiteLearning } from './learn-site.ts';
import {
  type Learnt,
  type LearntBattery,
  type LearntDay,
  type LearntLoad,
  type LearntPanel,
  type LearntSite,
  type LearntWeather,
  type Sureness,
} from './learnt-site.ts';
import { panelOrientation } from './panel-orientation.ts';
import { panelWarning } from './panel-warning.ts';
import { percentile } from './robust.ts';

/** Two years and two months: two earlier seasons, whatever the date. */
const DAYS_KEPT = 792;
const STEPS_KEPT = 10;
const DAYS_PER_YEAR = 365.25;
/** How a battery that nobody watched is taken to have lived: 10 °C, mostly charged, a shallow cycle a day. Assumptions. */
const USUAL_LIFE = { batteryC: 10, chargeRatio: 0.6, depthRatio: 0.2 } as const;

export interface AdvanceInputs {
  readonly history: HourlyHistory;
  readonly position: Position;
  readonly power: PowerSystem;
  readonly nowMs: number;
  /** When the battery was put up: an old one is expected to hold less. Left out: taken for new. */
  readonly batteryInstalledAtMs?: number;
}

/**
 * Carries what a node has taught on to now: looked at once a day or with every outlook, it comes to the same.
 *
 * @param before  what earlier looks have left; undefined: the first look
 * @param inputs  the hourly past, sixty days or as much as there is; hours learnt from before do no harm
 * @returns a new state, plain JSON
 */
export function advanceLearnt(before: LearntSite | undefined, inputs: AdvanceInputs): LearntSite {
  const { history, position, power, nowMs } = inputs;
  const state = before ?? freshLearnt(power, history.startMs);
  const battery = advanceBatteryPart(state.battery, inputs);
  const pack = batteryPackOf(power, { healthRatio: battery.health.value });
  const facts = { history, position, power, pack, startMs: nowMs, untilMs: nowMs };
  const learning = learnSite({ ...facts, learnt: state });
  if (learning === undefined) return { ...state, battery, untilMs: nowMs };
  return {
    ...state,
    untilMs: nowMs,
    panel: panelPart(state.panel, learning, inputs),
    battery,
    load: loadPart(state.load, learning, inputs),
    weather: weatherPart(state.weather, learning, inputs),
  };
}

function advanceBatteryPart(before: LearntBattery, inputs: AdvanceInputs): LearntBattery {
  const { history, power, nowMs } = inputs;
  const sinceMs = before.sinceMs ?? history.startMs;
  const pack = batteryPackOf(power);
  const facts = { history, power, pack, sinceMs, untilMs: nowMs };
  const swings = batterySwings(facts);
  const isFresh = before.swings === 0;
  const prior = isFresh ? priorRatio(before, inputs) : before.filter.ratio;
  const { filter, used } = followHealth({ ...before.filter, ratio: prior }, swings, nowMs);
  const count = before.swings + used;
  const half = BAND_SIGMAS * Math.sqrt(filter.variance);
  const fresh = swings.filter(({ endMs }) => endMs > before.filter.atMs);
  const days = new Set(fresh.map(({ endMs }) => Math.floor(endMs / DAY_MS))).size;
  const common = {
    fromDays: before.health.fromDays + days,
    sureness: count === 0 ? 'assumed' : count < 3 ? 'weak' : count < 8 ? 'fair' : 'firm',
    how:
      count === 0
        ? before.health.how
        : `Energy in and out over ${count} swings of charge of 30 % or more; newer ones count for more.`,
  } as const;
  const resistance = batteryResistance(facts) ?? before.resistanceOhm;
  return {
    ...(before.sinceMs !== undefined && { sinceMs: before.sinceMs }),
    untilMs: nowMs,
    health: {
      value: filter.ratio,
      low: Math.max(0, filter.ratio - half),
      high: filter.ratio + half,
      unit: 'ratio',
      ...common,
    },
    capacityWh: {
      value: filter.ratio * power.battery.ratedWh,
      low: Math.max(0, filter.ratio - half) * power.battery.ratedWh,
      high: (filter.ratio + half) * power.battery.ratedWh,
      unit: 'Wh',
      ...common,
    },
    ...(resistance !== undefined && { resistanceOhm: resistance }),
    filter,
    swings: count,
  };
}

/** An unwatched battery holds what its age leaves of it. */
function priorRatio(
  before: LearntBattery,
  { power, nowMs, batteryInstalledAtMs }: AdvanceInputs,
): number {
  const installedAtMs = before.sinceMs ?? batteryInstalledAtMs;
  if (installedAtMs === undefined) return before.filter.ratio;
  const years = Math.max(0, nowMs - installedAtMs) / (DAYS_PER_YEAR * DAY_MS);
  const life = { ...USUAL_LIFE, years, cycles: years * DAYS_PER_YEAR };
  return Math.max(0.3, agedCapacity(batteryPackOf(power).facts, life).ratio);
}

function panelPart(
  before: LearntPanel,
  learning: SiteLearning,
  { position, power, nowMs }: AdvanceInputs,
): LearntPanel {
  const { past, harvest, flags, siteScale, shade, panel } = learning;
  const since = before.sinceMs ?? Number.NEGATIVE_INFINITY;
  const clear = clearDays(past, harvest, { flags, ratedW: panel.ratedW }).filter(
    ({ day }) => dayStartMs(position, nowMs, day) >= since,
  );
  const seen = learning.days.filter(
    ({ day, firstHour }) => firstHour >= 0 && dayStartMs(position, nowMs, day) >= since,
  ).length;
  const facing = panelOrientation(past, harvest, { flags, position, panel: power.panel });
  const orientation =
    (facing?.tiltDeg.fromDays ?? 0) >= (before.orientation?.tiltDeg.fromDays ?? 1) ||
    (facing !== undefined && facing.tiltDeg.sureness === 'firm')
      ? facing
      : before.orientation;
  const warning = panelWarning(clear, 0);
  const half = 0.02 + 0.4 / Math.sqrt(Math.max(1, seen) + 4);
  return {
    ...(before.sinceMs !== undefined && { sinceMs: before.sinceMs }),
    untilMs: nowMs,
    scale:
      seen === 0
        ? before.scale
        : {
            value: siteScale,
            low: Math.max(0, siteScale - half),
            high: siteScale + half,
            unit: 'ratio',
            fromDays: seen,
            sureness: surenessOf(seen),
            how: 'The best tenth of the free, bright hours against a cloudless sky on the plate’s power.',
          },
    shade,
    ...(orientation !== undefined && { orientation }),
    ...(warning !== undefined && { warning }),
  };
}

function loadPart(
  before: LearntLoad,
  { load }: SiteLearning,
  { position, nowMs }: AdvanceInputs,
): LearntLoad {
  const levelWh = load.byUtcHourW.reduce((sum, loadW) => sum + loadW, 0);
  const spread = Math.exp(BAND_SIGMAS * load.levelSigma);
  const how =
    load.from === 'measured'
      ? 'A robust mean of the measured days, newer ones counting for more.'
      : 'The fall of charge by night; nothing reads the load.';
  const level: Learnt = {
    value: levelWh,
    low: levelWh / spread,
    high: levelWh * spread,
    unit: 'Wh/day',
    fromDays: load.days,
    sureness: surenessOf(load.days),
    how,
  };
  const step = load.step;
  const atMs = step === undefined ? 0 : dayStartMs(position, nowMs, step.day);
  const isNew =
    step !== undefined && !before.steps.some((known) => Math.abs(known.atMs - atMs) < 2 * DAY_MS);
  const steps = !isNew
    ? before.steps
    : [
        ...before.steps,
        {
          atMs,
          fromWhPerDay: step.fromWhPerDay,
          toWhPerDay: step.toWhPerDay,
          says: `The load changed from ${step.fromWhPerDay.toFixed(1)} to ${step.toWhPerDay.toFixed(1)} Wh a day.`,
        },
      ];
  return {
    ...(before.sinceMs !== undefined && { sinceMs: before.sinceMs }),
    untilMs: nowMs,
    level,
    byUtcHourW: [...load.byUtcHourW],
    daySigma: load.daySigma,
    from: load.from,
    steps: steps.slice(-STEPS_KEPT),
  };
}

function weatherPart(
  before: LearntWeather,
  learning: SiteLearning,
  { position, nowMs, history }: AdvanceInputs,
): LearntWeather {
  const since = before.sinceMs ?? Number.NEGATIVE_INFINITY;
  const isMeasured = learning.temperatureFrom !== 'assumed';
  const fresh = learning.days.flatMap((one, index): readonly LearntDay[] => {
    const { day, firstHour, ratio, isCensored, heardShare, fromDarkSpell } = one;
    const dayMs = dayStartMs(position, nowMs, day);
    if (day >= 0 || firstHour < 0 || dayMs < since) return [];
    // A day cut by the start of the history is kept as it was learnt when it was whole.
    if (dayMs < history.startMs - HOUR_MS) return [];
    const row = learning.temperatureC.subarray(index * 24, index * 24 + 24);
    const meanC = row.reduce((sum, value) => sum + value, 0) / 24;
    return [
      {
        dayMs,
        ratio,
        isCensored,
        heardShare,
        ...(isMeasured && { meanC }),
        ...(fromDarkSpell !== undefined && { fromDarkSpell }),
      },
    ];
  });
  const known = new Set(fresh.map(({ dayMs }) => Math.round(dayMs / DAY_MS)));
  const days = [
    ...before.days.filter(({ dayMs }) => !known.has(Math.round(dayMs / DAY_MS))),
    ...fresh,
  ]
    .sort((a, b) => a.dayMs - b.dayMs)
    .slice(-DAYS_KEPT);
  const ratios = typicalRatios(learning.days, learning.siteScale);
  return {
    ...(before.sinceMs !== undefined && { sinceMs: before.sinceMs }),
    untilMs: nowMs,
    days,
    typicalRatio:
      ratios.length === 0
        ? before.typicalRatio
        : {
            value: percentile(ratios, 0.5),
            low: percentile(ratios, 0.1),
            high: percentile(ratios, 0.9),
            unit: 'ratio',
            fromDays: learning.days.length,
            sureness: surenessOf(learning.days.length),
            how: 'Harvest over that of a cloudless sky, day by day; the band holds eight days in ten.',
          },
  };
}

const dayStartMs = ({ longitudeDeg }: Position, nowMs: number, day: number): number =>
  solarDayStartMs(nowMs, longitudeDeg) + day * DAY_MS;

const surenessOf = (days: number): Sureness =>
  days === 0 ? 'assumed' : days < 5 ? 'weak' : days < 20 ? 'fair' : 'firm';
