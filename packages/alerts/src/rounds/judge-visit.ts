import {
  sayPercent,
  type ReserveChange,
  type VisitHorizon,
  type VisitVerdict,
} from '@duskline/domain';

/** Yields by solar day: share of a cloudless harvest, as diagnosis keeps them. */
export type YieldsByDay = ReadonlyMap<number, number>;

export interface VisitEvidence {
  readonly horizon: VisitHorizon;
  /** Solar day of the visit at the site. */
  readonly day: number;
  readonly own: YieldsByDay;
  /** Median of the other sites, of days on which at least three of them have one. */
  readonly peers: YieldsByDay;
  /** Mean harvest of the days after the visit, where days were heard whole. */
  readonly harvestAfterWhPerDay?: number;
  readonly reserve?: ReserveChange;
}

/** Solar days before and after the day of the visit itself, which is half one and half the other. */
const DAYS_BEFORE = 14;
const DAYS_AFTER: Readonly<Record<VisitHorizon, number>> = { '48h': 2, '14d': 14 };
/** Fewer can be told from nothing. Project choice. */
const LEAST_BEFORE = 4;
const LEAST_AFTER: Readonly<Record<VisitHorizon, number>> = { '48h': 2, '14d': 5 };
/** Days as dark as this tell nothing of a panel. */
const DULL_PEERS = 0.08;
/** 90th percentile of Student's t by degrees of freedom 1 … 10, from the tables in any textbook of statistics. */
const T90 = [3.078, 1.886, 1.638, 1.533, 1.476, 1.44, 1.415, 1.397, 1.383, 1.372];
/** 90th percentile of the normal distribution. */
const Z90 = 1.2816;

/**
 * Did a visit help? The site's yield against the median of the others on the same days, before and after: what the weather
 * did to all of them falls out. The change is the ratio of the geometric means; its range holds eight in ten under the
 * spread those daily ratios show (Welch's two-sample interval on logarithms, degrees of freedom by
 * Welch–Satterthwaite: B. L. Welch, Biometrika 34, 1947, p. 28).
 */
export function judgeVisit(evidence: VisitEvidence): VisitVerdict {
  const { horizon, day, reserve } = evidence;
  const before = logShares(evidence, day - DAYS_BEFORE, day - 1);
  const after = logShares(evidence, day + 1, day + DAYS_AFTER[horizon]);
  const kept = reserve === undefined ? {} : { reserve };
  const sayReserve = reserve === undefined ? '' : ` ${reserveSentence(reserve)}`;
  if (before.length < LEAST_BEFORE || after.length < LEAST_AFTER[horizon])
    return {
      kind: 'cannot-tell',
      horizon,
      ...kept,
      says: `${whenSays(horizon)}: cannot tell what it did for the yield; ${shortOf(before.length, after.length, horizon)}.${sayReserve}`,
    };
  const { mean, low, high } = changeOf(before, after);
  const change = Math.exp(mean) - 1;
  const gain = evidence.harvestAfterWhPerDay;
  const gainWhPerDay = gain === undefined ? undefined : gain * (1 - Math.exp(-mean));
  const range = { lowChange: Math.exp(low) - 1, highChange: Math.exp(high) - 1 };
  return {
    kind: 'judged',
    horizon,
    yieldChange: change,
    ...range,
    daysBefore: before.length,
    daysAfter: after.length,
    ...(gainWhPerDay === undefined ? {} : { gainWhPerDay }),
    ...kept,
    says: `${whenSays(horizon)}: ${yieldSentence(change, range, gainWhPerDay)}${sayReserve}`,
  };
}

function logShares({ own, peers }: VisitEvidence, from: number, to: number): readonly number[] {
  const logs: number[] = [];
  for (let day = from; day <= to; day++) {
    const [mine, theirs] = [own.get(day), peers.get(day)];
    if (mine === undefined || theirs === undefined || theirs < DULL_PEERS) continue;
    // A panel that gives nothing at all has no logarithm: a hundredth of the others stands for it.
    logs.push(Math.log(Math.max(mine / theirs, 0.01)));
  }
  return logs;
}

function changeOf(before: readonly number[], after: readonly number[]) {
  const [a, b] = [momentsOf(before), momentsOf(after)];
  const mean = b.mean - a.mean;
  const [va, vb] = [a.variance / before.length, b.variance / after.length];
  const freedom =
    va + vb === 0
      ? Infinity
      : (va + vb) ** 2 / (va ** 2 / (before.length - 1) + vb ** 2 / (after.length - 1));
  const half = Math.sqrt(va + vb) * t90(freedom);
  return { mean, low: mean - half, high: mean + half };
}

/** Beyond the table by the first term of its expansion (Abramowitz & Stegun 26.7.5), within 0.005 of the table. */
const t90 = (freedom: number): number =>
  T90[Math.max(1, Math.floor(freedom)) - 1] ?? Z90 + (Z90 ** 3 + Z90) / (4 * freedom);

function momentsOf(values: readonly number[]) {
  const mean = values.reduce((sum, value) => sum + value, 0) / values.length;
  const squares = values.reduce((sum, value) => sum + (value - mean) ** 2, 0);
  return { mean, variance: squares / (values.length - 1) };
}

const whenSays = (horizon: VisitHorizon): string =>
  horizon === '48h' ? '48 hours after the visit' : '14 days after the visit';

function shortOf(before: number, after: number, horizon: VisitHorizon): string {
  return `${before} of ${LEAST_BEFORE} days before and ${after} of ${LEAST_AFTER[horizon]} days after can be held against at least three other sites`;
}

function yieldSentence(
  change: number,
  { lowChange, highChange }: { readonly lowChange: number; readonly highChange: number },
  gainWhPerDay: number | undefined,
): string {
  const range = `eight in ten between ${signed(lowChange)} and ${signed(highChange)}, weather taken out by the other sites`;
  if (lowChange <= 0 && highChange >= 0)
    return `no change of the yield that stands out from the weather (${signed(change)}; ${range}).`;
  const gain =
    gainWhPerDay === undefined
      ? ''
      : ` That is ${Math.abs(gainWhPerDay).toFixed(1)} Wh a day ${gainWhPerDay < 0 ? 'less' : 'more'} than without it.`;
  return `yield ${signed(change)} (${range}).${gain}`;
}

const signed = (ratio: number): string =>
  `${ratio < -0.005 ? '−' : '+'}${sayPercent(Math.abs(ratio))}`;

function reserveSentence({ beforeWh, afterWh, beforeDays, afterDays }: ReserveChange): string {
  const days =
    beforeDays === undefined || afterDays === undefined
      ? ''
      : `, ${beforeDays.toFixed(1)} and ${afterDays.toFixed(1)} days without sun`;
  return `Reserve ${beforeWh.toFixed(0)} Wh before and ${afterWh.toFixed(0)} Wh after${days} (the weather is not taken out of this).`;
}
