import { DAY_MS, HOUR_MS, type HourlyHistory } from '@duskline/domain';
import { forecastPaths } from '@duskline/forecast';
import type { OpenWeather } from './open-weather.ts';
import { brier, crps } from './scores.ts';
import type { TruthNode } from './truth-node.ts';

/** One outlook, graded. */
export interface Graded {
  readonly observedDays: number;
  readonly p7: number;
  readonly crpsDays: number;
  readonly crpsDaysLast24h: number;
  readonly crpsDaysLast7d: number;
  readonly brier: number;
  readonly brierLast24h: number;
  readonly brierLast7d: number;
  readonly isCovered: boolean;
  /** It empties within the horizon, or some forecast says it might. */
  readonly isOpen: boolean;
}

/** The window of one dark spell as forecast when it began, against when it ended. */
export interface GradedReturn {
  readonly isCovered: boolean;
  readonly crpsDays: number;
}

export const HORIZON_DAYS = 21;
const PATHS = 300;
const HISTORY_DAYS = 60;

/**
 * Issues outlooks every few days while the node is up, as of then, from its last sixty days, and grades them by what followed.
 *
 * @param options.fromHour  first hour at which one may be issued
 */
export function gradeOutlooks(
  weather: OpenWeather,
  node: TruthNode,
  options: { readonly fromHour: number; readonly everyDays: number },
): readonly Graded[] {
  const graded: Graded[] = [];
  const lastHour = node.hours - HORIZON_DAYS * 24;
  for (let hour = options.fromHour; hour < lastHour; hour += options.everyDays * 24) {
    if (node.isDark[hour] === 1 || node.history.loadW[hour - 1] === null) continue;
    graded.push(gradeAt(weather, node, hour));
  }
  return graded;
}

function gradeAt(weather: OpenWeather, node: TruthNode, hour: number): Graded {
  const ratio = node.chargeRatio[hour]!;
  const { daysToEmpty } = forecastPaths({
    ...inputsAt(weather, node, hour),
    charge: {
      ratio,
      lowRatio: ratio,
      highRatio: ratio,
      method: 'gauge',
      observedAtMs: weather.startMs + hour * HOUR_MS,
    },
  });
  if (daysToEmpty === undefined) throw new Error(`Too little data at hour ${hour}.`);

  const stop = node.stops.find((at) => at >= hour);
  const observedDays = stop === undefined ? Number.POSITIVE_INFINITY : (stop - hour) / 24;
  const happened = observedDays <= 7;
  const last24h = balanceDays(node, hour, 24);
  const last7d = balanceDays(node, hour, 7 * 24);
  const within = daysToEmpty.filter((days) => days <= 7).length;
  const p7 = (within + 0.5) / (daysToEmpty.length + 1);
  const [low, high] = [0.1, 0.9].map((share) =>
    Math.min(HORIZON_DAYS, daysToEmpty[Math.ceil(share * daysToEmpty.length) - 1]!),
  ) as [number, number];
  const cut = Math.min(observedDays, HORIZON_DAYS);
  return {
    observedDays,
    p7,
    crpsDays: crps(daysToEmpty, observedDays, HORIZON_DAYS),
    crpsDaysLast24h: crps([last24h], observedDays, HORIZON_DAYS),
    crpsDaysLast7d: crps([last7d], observedDays, HORIZON_DAYS),
    brier: brier(p7, happened),
    brierLast24h: brier(last24h <= 7 ? 1 : 0, happened),
    brierLast7d: brier(last7d <= 7 ? 1 : 0, happened),
    isCovered: low <= cut && cut <= high,
    isOpen:
      cut < HORIZON_DAYS || low < HORIZON_DAYS || last24h < HORIZON_DAYS || last7d < HORIZON_DAYS,
  };
}

/** Grades the window given at the start of every dark spell that ended within the horizon's reach of the record. */
export function gradeReturns(
  weather: OpenWeather,
  node: TruthNode,
  fromHour: number,
): readonly GradedReturn[] {
  const graded: GradedReturn[] = [];
  node.returns.forEach((backAt, spell) => {
    const stop = node.stops[spell]!;
    const hour = Math.ceil(stop);
    if (hour < fromHour) return;
    const { daysToReturn } = forecastPaths({
      ...inputsAt(weather, node, hour),
      charge: undefined,
      dark: {
        sinceMs: weather.startMs + stop * HOUR_MS,
        chargeRatio: node.power.shutDownRatio,
      },
    });
    if (daysToReturn === undefined || daysToReturn.length === 0) return;
    const observed = Math.min(HORIZON_DAYS, (backAt - hour) / 24);
    const at = (share: number): number =>
      Math.min(HORIZON_DAYS, daysToReturn[Math.ceil(share * daysToReturn.length) - 1]!);
    graded.push({
      isCovered: at(0.1) <= observed && observed <= at(0.9),
      crpsDays: crps(daysToReturn, observed, HORIZON_DAYS),
    });
  });
  return graded;
}

export function inputsAt(weather: OpenWeather, node: TruthNode, hour: number) {
  const { latitudeDeg, longitudeDeg, elevationM } = weather;
  return {
    nowMs: weather.startMs + hour * HOUR_MS,
    seed: hour,
    position: { latitudeDeg, longitudeDeg, elevationM },
    power: node.power,
    history: cutHistory(node.history, hour),
    paths: PATHS,
    horizonDays: HORIZON_DAYS,
  };
}

/** The last sixty days before an hour, and nothing after it. */
function cutHistory(history: HourlyHistory, hour: number): HourlyHistory {
  const from = Math.max(0, hour - HISTORY_DAYS * 24);
  return {
    startMs: history.startMs + from * HOUR_MS,
    panelW: history.panelW.slice(from, hour),
    loadW: history.loadW.slice(from, hour),
    chargeRatio: history.chargeRatio.slice(from, hour),
    batteryV: history.batteryV.slice(from, hour),
    batteryA: history.batteryA.slice(from, hour),
    batteryC: history.batteryC.slice(from, hour),
    airC: history.airC.slice(from, hour),
  };
}

/** Days to empty if every day went like the mean of the last hours: the baselines. */
function balanceDays(node: TruthNode, hour: number, lookBackH: number): number {
  let netW = 0;
  let heard = 0;
  for (let i = Math.max(0, hour - lookBackH); i < hour; i++) {
    const loadW = node.history.loadW[i] ?? null;
    const panelW = node.history.panelW[i] ?? null;
    if (loadW === null || panelW === null) continue;
    netW += panelW - loadW;
    heard++;
  }
  if (heard === 0 || netW >= 0) return Number.POSITIVE_INFINITY;
  const usableWh = (node.chargeRatio[hour]! - node.power.shutDownRatio) * node.capacityWh;
  return (usableWh / (-netW / heard)) * (HOUR_MS / DAY_MS);
}
