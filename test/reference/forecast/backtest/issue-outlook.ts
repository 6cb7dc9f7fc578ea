import { HOUR_MS, type HourlyHistory } from '@duskline/domain';
import {
  advanceLearnt,
  type ForecastInputs,
  forecastPaths,
  type OutsideFacts,
} from '@duskline/forecast';
import type { TruthNode } from '../truth-node.ts';
import { HORIZON } from './graded.ts';

export const HORIZON_DAYS = HORIZON;

/** A node in the backtest, and what its forecaster may know beside its own last sixty days. */
export interface Watched {
  readonly node: TruthNode;
  readonly position: ForecastInputs['position'];
  readonly startMs: number;
  readonly clearnessByMonth: readonly number[];
  readonly chargeSigma: number;
  readonly paths: number;
  /** So much of its own past the forecaster has. */
  readonly historyDays: number;
  readonly seed: number;
  /** True days given as an outside forecast; undefined: none. */
  readonly outsideAt: ((hour: number) => OutsideFacts) | undefined;
}

/** `trapped`: what the chain would say if nothing told a full battery's hours from dull ones and its own days were all it had. */
type Chain = 'whole' | 'trapped';

/** Days to empty as forecast at the start of an hour, ascending; undefined with too little data. */
export function emptyDaysAt(
  watched: Watched,
  hour: number,
  chain: Chain = 'whole',
): Float64Array | undefined {
  const ratio = watched.node.history.chargeRatio[hour - 1] ?? null;
  if (ratio === null) return undefined;
  // Without hidden error the gauge is exact; else one noisy reading is all there is.
  const exact = watched.node.chargeRatio[hour]!;
  const reading = watched.chargeSigma === 0 ? exact : ratio;
  const half = watched.chargeSigma * 1.2816;
  return forecastPaths({
    ...inputsAt(watched, hour, chain),
    charge: {
      ratio: reading,
      lowRatio: Math.max(0, reading - half),
      highRatio: Math.min(1, reading + half),
      method: 'gauge',
      observedAtMs: watched.startMs + hour * HOUR_MS,
    },
  }).daysToEmpty;
}

/** Days until the node is back, as forecast in the first hour after it stopped. */
export function returnDaysAt(watched: Watched, stop: number): Float64Array | undefined {
  return forecastPaths({
    ...inputsAt(watched, Math.ceil(stop), 'whole'),
    charge: undefined,
    dark: {
      sinceMs: watched.startMs + stop * HOUR_MS,
      chargeRatio: watched.node.power.shutDownRatio,
    },
  }).daysToReturn;
}

function inputsAt(watched: Watched, hour: number, chain: Chain): Omit<ForecastInputs, 'charge'> {
  const { node, position, startMs, clearnessByMonth, paths, seed, outsideAt } = watched;
  const nowMs = startMs + hour * HOUR_MS;
  const whole = lastDays(node.history, hour, watched.historyDays);
  const history =
    chain === 'trapped' ? { ...whole, chargeRatio: whole.chargeRatio.map(() => null) } : whole;
  return {
    nowMs,
    // Battery and panel as these days tell them; nothing is remembered from before.
    learnt: advanceLearnt(undefined, { history, position, power: node.power, nowMs }),
    seed: seed * 1_000_003 + hour,
    position,
    power: node.power,
    history,
    clearnessByMonth,
    paths,
    horizonDays: HORIZON_DAYS,
    ...(chain === 'trapped' && { evenDays: 0 }),
    ...(outsideAt !== undefined && { outside: outsideAt(hour) }),
  };
}

/** The last days before an hour, and nothing after it. */
function lastDays(history: HourlyHistory, hour: number, days: number): HourlyHistory {
  const from = Math.max(0, hour - days * 24);
  const cut = (values: readonly (number | null)[]) => values.slice(from, hour);
  return {
    startMs: history.startMs + from * HOUR_MS,
    panelW: cut(history.panelW),
    loadW: cut(history.loadW),
    chargeRatio: cut(history.chargeRatio),
    batteryV: cut(history.batteryV),
    batteryA: cut(history.batteryA),
    batteryC: cut(history.batteryC),
    airC: cut(history.airC),
  };
}
