import type { PowerSeen } from '../seen-of-power.ts';
import type { Cause } from '../weigh-causes.ts';
import { recentMean } from './recent-days.ts';

/** The battery's protection refuses charge while it is too cold: normal in winter. */
export const tooCold: Cause<PowerSeen> = {
  cause: 'too-cold',
  name: 'battery too cold to be charged',
  commonness: 0.8,
  weigh: (seen) =>
    weighBlock(
      seen,
      recentMean(seen, ({ coldHours }) => coldHours),
      'below',
    ),
  settledBy: 'warmer hours; never heat or charge it by other means below its limit',
};

/** The same for heat. */
export const tooHot: Cause<PowerSeen> = {
  cause: 'too-hot',
  name: 'battery too hot to be charged',
  commonness: 0.4,
  weigh: (seen) =>
    weighBlock(
      seen,
      recentMean(seen, ({ hotHours }) => hotHours),
      'above',
    ),
  settledBy: 'cooler hours; shade and air for the box',
};

function weighBlock(seen: PowerSeen, hours: number | undefined, side: 'below' | 'above') {
  if (hours === undefined) return undefined;
  const says = `Its battery was ${side} its charging limit in ${hours.toFixed(1)} bright hours a day`;
  const evidence = [{ weight: hours >= 2 ? 4.5 : hours >= 0.7 ? 1.5 : -5, says }];
  if (hours >= 0.7 && seen.yieldChange !== undefined && seen.yieldChange < 0.5)
    evidence.push({ weight: -2, says: 'Warm hours give too little as well' });
  return evidence;
}
