import { DAY_MS, HOUR_MS, type HourlyHistory } from '@duskline/domain';

/** What is known of a node after an outlook was issued. */
export interface OutcomeWatch {
  /** When it went empty first; undefined: not as far as it was heard. */
  readonly emptiedAtMs?: number;
  /** When it was heard first. */
  readonly heardAgainAtMs?: number;
  /** End of the last hour it was heard in. */
  readonly heardUntilMs: number;
}

/** Silence of this many hours behind a charge near the shut-down level is a stop; a shorter one is a gap in the readings. */
const STOP_HOURS = 3;
/** The last hour's mean before a stop lies above the level by what was drawn in it, and the gauge has its own error. */
const NEAR_RATIO = 0.05;
/** Guards the last bit of a mean of equal readings. */
const ROUNDING = 1e-9;

/**
 * When a node went empty after an instant, and how far it was heard: from the charge by the hour, and from the spells its
 * state was judged dark.
 *
 * A silence whose last charge was well above the level is no stop. Whether the node went empty within it cannot be known; it is
 * taken to have stayed up when it was heard again, because an emptied node comes back much later and low.
 *
 * @param known.history        hours with nulls where nothing was heard
 * @param known.shutDownRatio  0–1
 * @param known.darkFromMs     when it was judged to have gone dark, any order
 * @param fromMs               the outlook's issue
 */
export function watchOutcome(
  known: {
    readonly history: HourlyHistory;
    readonly shutDownRatio: number;
    readonly darkFromMs: readonly number[];
  },
  fromMs: number,
): OutcomeWatch {
  const { history, shutDownRatio, darkFromMs } = known;
  const { startMs, chargeRatio } = history;
  const first = Math.max(0, Math.ceil((fromMs - startMs) / HOUR_MS));
  let heardAgain: number | undefined;
  let lastHeard = lastHeardBefore(chargeRatio, first);
  let emptied: number | undefined;
  for (let hour = first; hour <= chargeRatio.length && emptied === undefined; hour++) {
    const ratio = chargeRatio[hour] ?? null;
    if (ratio === null) {
      const before = lastHeard < 0 ? null : (chargeRatio[lastHeard] ?? null);
      const isStop = before !== null && before <= shutDownRatio + NEAR_RATIO;
      if (isStop && hour - lastHeard >= STOP_HOURS && lastHeard >= first - 1)
        emptied = startMs + (lastHeard + 1) * HOUR_MS;
      continue;
    }
    heardAgain ??= hour;
    lastHeard = hour;
    if (ratio <= shutDownRatio + ROUNDING) emptied = startMs + hour * HOUR_MS;
  }
  const judged = darkFromMs.filter((atMs) => atMs > fromMs).sort((a, b) => a - b)[0];
  const emptiedAtMs =
    emptied === undefined || judged === undefined ? (emptied ?? judged) : Math.min(emptied, judged);
  const heardUntilMs = startMs + (lastHeardBefore(chargeRatio, chargeRatio.length) + 1) * HOUR_MS;
  return {
    ...(emptiedAtMs === undefined ? {} : { emptiedAtMs: Math.max(fromMs, emptiedAtMs) }),
    ...(heardAgain === undefined ? {} : { heardAgainAtMs: startMs + heardAgain * HOUR_MS }),
    heardUntilMs,
  };
}

function lastHeardBefore(values: readonly (number | null)[], end: number): number {
  let hour = end - 1;
  while (hour >= 0 && (values[hour] ?? null) === null) hour--;
  return hour;
}

/** Days between two instants. */
export const daysBetween = (fromMs: number, toMs: number): number => (toMs - fromMs) / DAY_MS;
