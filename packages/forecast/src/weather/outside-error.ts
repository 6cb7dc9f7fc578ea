import type { YieldDay } from '../learn/yield-days.ts';

/** What was foretold for a day and what the site then gave. */
export interface OutsidePair {
  /** 0 = the day of issue. */
  readonly lead: number;
  readonly foretold: number;
  readonly own: number;
}

/** How the site answers an outside forecast. */
export interface OutsideAnswer {
  /** Own yield per foretold yield. */
  readonly factor: number;
  /** Standard deviation of what the forecast misses, in yield, by lead. */
  readonly sigma: (lead: number) => number;
  readonly pairs: number;
}

/** Before any pair: starting values of the project's research note §9, lead 1 … 7. */
const START_SIGMA = [0.1, 0.14, 0.17, 0.2, 0.23, 0.25, 0.27] as const;
/** What the starting values are worth, in pairs: of the factor, and of each lead's error. */
const FACTOR_PAIRS = 4;
const SIGMA_PAIRS = 5;
const LEAST_SIGMA = 0.02;

/**
 * Learns from past forecasts how the site answers them: a line through the origin, and the scatter about it by lead.
 *
 * @param pairs       past forecasts beside known days
 * @param panelRatio  what the panel gives against its plate: the factor before any pair
 * @returns starting values without pairs; leads beyond the seventh are as the seventh
 * @source ours: least squares with a prior worth four pairs; scatter with one worth five
 */
export function outsideAnswer(pairs: readonly OutsidePair[], panelRatio: number): OutsideAnswer {
  const typical = 0.25; // mean square of a yield ratio: weighs the prior of the factor like four ordinary days
  let above = FACTOR_PAIRS * panelRatio * typical;
  let below = FACTOR_PAIRS * typical;
  for (const { foretold, own } of pairs) {
    above += foretold * own;
    below += foretold * foretold;
  }
  const factor = above / below;
  const sigmas = START_SIGMA.map((start, lead) => {
    const missed = pairs
      .filter((pair) => Math.min(pair.lead, START_SIGMA.length - 1) === lead)
      .map((pair) => (pair.own - factor * pair.foretold) ** 2);
    const sum = missed.reduce((total, value) => total + value, SIGMA_PAIRS * start * start);
    return Math.max(LEAST_SIGMA, Math.sqrt(sum / (missed.length + SIGMA_PAIRS)));
  });
  return {
    factor,
    pairs: pairs.length,
    sigma: (lead) => sigmas[Math.min(sigmas.length - 1, Math.max(0, lead))]!,
  };
}

/** Pairs of one past forecast: its mean over members beside the days that are known. */
export function pairsOf(
  foretold: readonly ReadonlyMap<number, number>[],
  issueDay: number,
  days: readonly YieldDay[],
): readonly OutsidePair[] {
  return days.flatMap(({ day, ratio, isCensored }) => {
    const mean = meanForetold(foretold, day);
    if (isCensored || mean === undefined || day < issueDay) return [];
    return [{ lead: day - issueDay, foretold: mean, own: ratio }];
  });
}

/** Mean over the members; undefined where none foretells the day. */
export function meanForetold(
  foretold: readonly ReadonlyMap<number, number>[],
  day: number,
): number | undefined {
  const values = foretold.flatMap((member) => member.get(day) ?? []);
  return values.length === 0
    ? undefined
    : values.reduce((sum, value) => sum + value, 0) / values.length;
}
