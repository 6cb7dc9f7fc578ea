import { DAY_MS } from '@duskline/domain';
import { dayOfYear } from '@duskline/energy';
import type { YieldDay } from '../learn/yield-days.ts';
import { readyMatrices } from './clearness-chain.ts';
import { clearnessOn, LATITUDE_SIGMA, shiftedClearness } from './climate-of.ts';
import type { ClearnessYield } from './clearness-yield.ts';
import { chanceOfSequence } from './sequence-chance.ts';

/** Twelve clearness values that may be the site's, and how likely. */
export interface ClimateLevel {
  readonly clearnessByMonth: readonly number[];
  readonly weight: number;
}

/** Known days in a row needed before the sequence is asked. */
const LEAST_DAYS = 5;
/** Weights below this share of the greatest are dropped: each costs a chain. */
const LEAST_WEIGHT = 0.05;

/**
 * Bayesian mean over the ten climates of the library for a place of which only the latitude is known: how well each explains the
 * order of the site's own days, times how far it lies from what the latitude suggests.
 *
 * @param byLatitude  twelve values, the start
 * @param days        own days; those known only from below are passed over
 * @param panelRatio  what the panel gives against its plate: it turns yield into clearness
 * @returns weights sum to 1
 * @source matrices of Aguiar et al. 1988; weights: Hoeting, Madigan, Raftery & Volinsky 1999, Stat. Sci. 14:382
 */
export function climateLevels(inputs: {
  readonly byLatitude: readonly number[];
  readonly days: readonly YieldDay[];
  readonly panelRatio: number;
  readonly yields: ClearnessYield;
  readonly startMs: number;
}): readonly ClimateLevel[] {
  const { byLatitude, days, panelRatio, yields, startMs } = inputs;
  const now = clearnessOn(byLatitude, dayOfYear(startMs));
  const known = days
    .filter((day) => !day.isCensored)
    .map(({ day, ratio }) => ({ day, clearness: yields.clearness(day, ratio / panelRatio) }));
  const levels = readyMatrices.map((matrix) => {
    const shift = matrix.mean - now;
    const clearnessByMonth = shiftedClearness(byLatitude, shift);
    const prior = -0.5 * (shift / LATITUDE_SIGMA) ** 2;
    const told =
      known.length < LEAST_DAYS
        ? 0
        : chanceOfSequence(matrix, known, (day) => {
            const season = clearnessOn(clearnessByMonth, dayOfYear(startMs + day * DAY_MS));
            return season / matrix.mean;
          });
    return { clearnessByMonth, log: prior + told };
  });
  const top = Math.max(...levels.map(({ log }) => log));
  const likely = levels
    .map(({ clearnessByMonth, log }) => ({ clearnessByMonth, weight: Math.exp(log - top) }))
    .filter(({ weight }) => weight >= LEAST_WEIGHT);
  const total = likely.reduce((sum, { weight }) => sum + weight, 0);
  return likely.map(({ clearnessByMonth, weight }) => ({
    clearnessByMonth,
    weight: weight / total,
  }));
}
