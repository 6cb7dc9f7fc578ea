import type { Swing } from './battery-swings.ts';
import type { LearntBattery } from './learnt-site.ts';

type Filter = LearntBattery['filter'];

const MONTH_MS = 30.44 * 86_400_000;
/** How fast a battery may change: standard deviation in a month. Project research note §7.3. */
const DRIFT_PER_MONTH = 0.01;
/** The errors of a gauge and of a sensor stay the same from swing to swing: below this no number of swings leads. */
const LEAST_SIGMA = 0.03;
/** Further off than this many deviations a swing is more likely wrong than the battery changed: it counts for less. */
const FAR = 3;
const HEALTH_RANGE = [0.2, 1.3] as const;

/**
 * Follows the present capacity of a battery from swing to swing: a Kalman filter of one state.
 *
 * @param filter  where it stood; swings that ended before it are passed over
 * @param swings  ascending by end
 * @param atMs    carried on to here
 * @returns the new state and how many swings went in
 * @source Kalman 1960, J. Basic Eng. 82:35, for a random walk; far swings are widened as in Huber's estimate
 */
export function followHealth(
  filter: Filter,
  swings: readonly Swing[],
  atMs: number,
): { readonly filter: Filter; readonly used: number } {
  let { ratio, variance } = filter;
  let lastMs = filter.atMs;
  let used = 0;
  for (const swing of swings) {
    if (swing.endMs <= filter.atMs || !(swing.sigma > 0) || swing.healthRatio <= 0) continue;
    variance += drift(swing.endMs - lastMs);
    lastMs = swing.endMs;
    const off = swing.healthRatio - ratio;
    const farness = Math.abs(off) / (FAR * Math.sqrt(variance + swing.sigma ** 2));
    const noise = (swing.sigma * Math.max(1, farness)) ** 2;
    const gain = variance / (variance + noise);
    ratio = Math.min(HEALTH_RANGE[1], Math.max(HEALTH_RANGE[0], ratio + gain * off));
    variance = Math.max(LEAST_SIGMA ** 2, (1 - gain) * variance);
    used++;
  }
  variance += drift(Math.max(0, atMs - lastMs));
  return { filter: { ratio, variance, atMs: Math.max(atMs, lastMs) }, used };
}

const drift = (elapsedMs: number): number => (DRIFT_PER_MONTH ** 2 * elapsedMs) / MONTH_MS;
