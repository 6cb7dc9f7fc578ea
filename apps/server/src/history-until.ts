import { DAY_MS, HOUR_MS, type HourlyHistory } from '@duskline/domain';

/** How much of its own past a node's weather is drawn from. */
const HISTORY_MS = 60 * DAY_MS;

/**
 * Where the past of an outlook begins: at a midnight, so that outlooks in a row share the days they are made of.
 *
 * @param atMs  when it is issued
 */
export const historyStartMs = (atMs: number): number =>
  Math.floor((atMs - HISTORY_MS) / DAY_MS) * DAY_MS;

/** The past as it was known then: from where an outlook's past begins to the hour of its issue. */
export function historyUntil(history: HourlyHistory, atMs: number): HourlyHistory {
  const from = Math.max(0, Math.round((historyStartMs(atMs) - history.startMs) / HOUR_MS));
  const to = Math.max(from, Math.ceil((atMs - history.startMs) / HOUR_MS));
  const cut = (values: readonly (number | null)[]) => values.slice(from, to);
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
