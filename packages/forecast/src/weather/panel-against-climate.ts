import type { YieldDay } from '../learn/yield-days.ts';
import { classOf, type ReadyMatrix, readyMatrices } from './clearness-chain.ts';
import type { ClearnessYield } from './clearness-yield.ts';

/** What the panel seems to give against its plate, by its own days under the climate of the place. */
export interface PanelScale {
  readonly ratio: number;
  /** Standard deviation of the logarithm. */
  readonly sigma: number;
}

/** Before anything was seen: soiled, shaded or worn a little, seldom much. Assumption, no source. */
const PRIOR = { ratio: 0.95, sigma: 0.18 } as const;
/** Candidates, by steps of the logarithm. */
const CANDIDATES = 41;
const REACH = 0.9;
/** Days in a row tell partly the same: each counts as so much of a day (lag-1 correlation 0.3 gives (1 − 0.3)/(1 + 0.3)). */
const DAY_WORTH = 0.54;
/** Part of the density spread over everything: snow on the panel, a wrong gauge. */
const STRAY = 0.03;
const STRAY_WIDTH = 1.5;

/**
 * Weighs scales of the panel by how well the site's own days fit the climate under each. Days known only from below count by the
 * chance of at least that much, so a battery that is full every day does not make the panel poor.
 *
 * @param days      own days; `clearnessOf` and `yields` must know their dates
 * @param clearnessOf  mean clearness of the season, by solar day
 * @returns mean and standard deviation of the logarithm; the prior (0.95, ±18 %) without days
 * @source ours: likelihood with right-censored observations (Tobin 1958, Econometrica 26:24) on a grid; densities from the long
 *         run of the matrices of Aguiar et al. 1988
 */
export function panelAgainstClimate(
  days: readonly YieldDay[],
  clearnessOf: (day: number) => number,
  yields: ClearnessYield,
): PanelScale {
  const scales = Array.from(
    { length: CANDIDATES },
    (_, i) => Math.log(PRIOR.ratio) + REACH * ((2 * i) / (CANDIDATES - 1) - 1),
  );
  const factors = scales.map((log) => Math.exp(log));
  const logWeights = scales.map((log) => -0.5 * ((log - Math.log(PRIOR.ratio)) / PRIOR.sigma) ** 2);
  for (const day of days) {
    const mean = clearnessOf(day.day);
    const { matrix, stretch } = matrixNear(mean);
    for (let i = 0; i < CANDIDATES; i++) {
      const scale = factors[i]!;
      const likelihood = day.isCensored
        ? chanceOfAtLeast(matrix, yields.clearness(day.day, day.ratio / scale) / stretch)
        : densityAt(matrix, stretch, { yields, day, scale });
      logWeights[i] = logWeights[i]! + DAY_WORTH * day.heardShare * Math.log(likelihood);
    }
  }
  const top = Math.max(...logWeights);
  const weights = logWeights.map((log) => Math.exp(log - top));
  const total = weights.reduce((sum, weight) => sum + weight, 0);
  const mean = scales.reduce((sum, log, i) => sum + log * weights[i]!, 0) / total;
  const variance = scales.reduce((sum, log, i) => sum + (log - mean) ** 2 * weights[i]!, 0) / total;
  const step = scales[1]! - scales[0]!;
  return { ratio: Math.exp(mean), sigma: Math.sqrt(variance + (step * step) / 12) };
}

/** The matrix whose long-run mean is nearest, and the stretch that makes its mean the wanted one. */
export function matrixNear(mean: number): {
  readonly matrix: ReadyMatrix;
  readonly stretch: number;
} {
  const matrix = readyMatrices.reduce((best, one) =>
    Math.abs(one.mean - mean) < Math.abs(best.mean - mean) ? one : best,
  );
  return { matrix, stretch: mean / matrix.mean };
}

function densityAt(
  matrix: ReadyMatrix,
  stretch: number,
  at: { readonly yields: ClearnessYield; readonly day: YieldDay; readonly scale: number },
): number {
  const { yields, day, scale } = at;
  const low = yields.clearness(day.day, (day.ratio / scale) * 0.97) / stretch;
  const high = yields.clearness(day.day, (day.ratio / scale) * 1.03) / stretch;
  const rise = Math.max(1e-6, 0.06 * day.ratio);
  const chance = chanceOfAtLeast(matrix, low) - chanceOfAtLeast(matrix, high);
  return ((1 - STRAY) * Math.max(0, chance)) / rise + STRAY / STRAY_WIDTH;
}

function chanceOfAtLeast(matrix: ReadyMatrix, clearness: number): number {
  const place = (clearness - matrix.least) / matrix.width;
  if (place <= 0) return 1;
  if (place >= 10) return STRAY;
  const found = classOf(matrix, clearness);
  const below = found === 0 ? 0 : matrix.settled[found - 1]!;
  const inside = (matrix.settled[found]! - below) * (place - found);
  return Math.max(STRAY, 1 - below - inside);
}

/** Yield expected of a day at the panel's plate: mean over the long run of its season's matrix. */
export function expectedYield(mean: number, day: number, yields: ClearnessYield): number {
  const { matrix, stretch } = matrixNear(mean);
  let sum = 0;
  let below = 0;
  for (let found = 0; found < 10; found++) {
    const share = matrix.settled[found]! - below;
    below = matrix.settled[found]!;
    sum += share * yields.ratio(day, stretch * (matrix.least + matrix.width * (found + 0.5)));
  }
  return sum;
}
