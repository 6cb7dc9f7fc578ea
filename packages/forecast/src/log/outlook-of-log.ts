import { DAY_MS, HOUR_MS, type HourlyHistory } from '@duskline/domain';
import { estimatePastCharges, withPastCharges } from '../estimate-past-charges.ts';
import { type ForecastPaths, forecastPaths } from '../forecast-node.ts';
import { advanceLearnt } from '../learn/advance-learnt.ts';
import type { LearntSite } from '../learn/learnt-site.ts';
import { logMoment } from './log-moment.ts';
import { type LogSite, withCellsOf } from './log-site.ts';
import type { NodeLog } from './node-log.ts';

/** Two earlier seasons and the last weeks: what an outlook looks back on. */
const LOOK_BACK_HOURS = 24 * (2 * 366 + 95);
/** What was learnt is carried on once a day. */
const RELEARN_MS = DAY_MS;
const LEARN_BACK_HOURS = 24 * 62;
/** The voltage of so many first hours tells the cells in series. */
const CELL_HOURS = 24 * 14;

/** Gives the outlook of a log as of one time after another. Times must not go back. */
export type OutlookOfLog = (atMs: number) => ForecastPaths;

/**
 * The outlooks that would have been given: each from rows before its time alone, the battery learnt on as time goes.
 *
 * @param site  where the log is from
 * @param log   any cadence, gaps allowed
 * @returns a function of the time; it throws RangeError when times go back, for what was learnt later would be used
 */
export function outlookOfLog(site: LogSite, log: NodeLog): OutlookOfLog {
  let learnt: LearntSite | undefined;
  let lastMs = Number.NEGATIVE_INFINITY;
  const full = flowsFilled(log.hourly);

  return (atMs) => {
    if (atMs < lastMs)
      throw new RangeError('Outlooks of a log are asked for in the order of time.');
    lastMs = atMs;
    const hours = Math.max(0, Math.floor((atMs - full.startMs) / HOUR_MS));
    const power = withCellsOf(site, usualVoltage(full, hours));
    const recent = cut(full, Math.max(0, hours - LEARN_BACK_HOURS), hours);
    const charged = withPastCharges(recent, estimatePastCharges(recent, power));
    const { position } = site;
    if (hours >= 24 && (learnt === undefined || atMs - learnt.untilMs >= RELEARN_MS))
      learnt = advanceLearnt(learnt, { history: charged, position, power, nowMs: atMs });
    const moment = logMoment(log, power, atMs);
    return forecastPaths({
      nowMs: atMs,
      seed: Math.floor(atMs / 1000),
      position,
      power,
      history: joined(cut(full, Math.max(0, hours - LOOK_BACK_HOURS), hours), charged),
      ...moment,
      ...(learnt !== undefined && { learnt }),
      ...(site.clearnessByMonth !== undefined && { clearnessByMonth: site.clearnessByMonth }),
    });
  };
}

const cut = (history: HourlyHistory, from: number, to: number): HourlyHistory => ({
  startMs: history.startMs + from * HOUR_MS,
  panelW: history.panelW.slice(from, to),
  loadW: history.loadW.slice(from, to),
  chargeRatio: history.chargeRatio.slice(from, to),
  batteryV: history.batteryV.slice(from, to),
  batteryA: history.batteryA.slice(from, to),
  batteryC: history.batteryC.slice(from, to),
  airC: history.airC.slice(from, to),
});

/** The long history with the charges that were worked out for its last weeks. */
function joined(long: HourlyHistory, recent: HourlyHistory): HourlyHistory {
  const from = (recent.startMs - long.startMs) / HOUR_MS;
  return { ...long, chargeRatio: [...long.chargeRatio.slice(0, from), ...recent.chargeRatio] };
}

/** Without a current sensor the voltage is read beside what flows: panel less load. */
function flowsFilled(history: HourlyHistory): HourlyHistory {
  if (history.batteryA.some((value) => value !== null)) return history;
  return {
    ...history,
    batteryA: history.batteryV.map((volt, hour) => {
      const panel = history.panelW[hour] ?? null;
      const load = history.loadW[hour] ?? null;
      return volt === null || volt <= 0 || panel === null || load === null
        ? null
        : (panel - load) / volt;
    }),
  };
}

function usualVoltage(history: HourlyHistory, hours: number): number | undefined {
  const heard = history.batteryV
    .slice(0, Math.min(hours, CELL_HOURS))
    .filter((value): value is number => value !== null && value > 0)
    .sort((a, b) => a - b);
  return heard.length === 0 ? undefined : heard[heard.length >> 1];
}
