import type { ExpectedWindow } from './outlook.ts';
import { sayDay, sayMoment } from './say-time.ts';

/**
 * How the two windows of a dark node relate, in one sentence without a full stop, the same wherever either is told: the first
 * makes it overdue, the latest outlook's is the one the pages name; `toldAtMs`: when the rule tells somebody. With weekday and date, for a logbook keeps it.
 */
export function sayFirstWindow(
  { p10Ms, p90Ms }: ExpectedWindow,
  timeZone: string,
  toldAtMs?: number,
): string {
  if (p90Ms === undefined)
    return 'As it went dark the end of its window could not be told, so time alone never makes it overdue';
  const [from, to] = [sayDay(p10Ms, timeZone), sayDay(p90Ms, timeZone)];
  const days = from === to ? to : `${from} to ${to}`;
  return (
    `Overdue means after ${sayMoment(p90Ms, timeZone)}, the end of the window it was given as it went dark (${days}); ` +
    (toldAtMs === undefined ? '' : `${sayToldAt(toldAtMs, timeZone)}; `) +
    'the window of the latest outlook moves with the weather and calls nobody'
  );
}

/** When somebody is told that a node is overdue, in the same words wherever it is said: "somebody is told Tue 1 Dec 11:52 UTC, …". */
export const sayToldAt = (toldAtMs: number, timeZone: string): string =>
  `somebody is told ${sayMoment(toldAtMs, timeZone)}, when it has had bright hours enough since`;
