import { sayPercent } from '@duskline/domain';
import type { PowerSeen } from '../seen-of-power.ts';
import type { Cause } from '../weigh-causes.ts';
import { recentMean } from './recent-days.ts';

/** Not a fault: the battery is full and takes no more. */
export const batteryFull: Cause<PowerSeen> = {
  cause: 'battery-full',
  name: 'battery full, so it takes no more',
  commonness: 2,
  weigh(seen) {
    const full = recentMean(seen, ({ fullShare }) => fullShare);
    if (full === undefined) return undefined;
    return [
      {
        weight: full > 0.6 ? 3.5 : full > 0.35 ? 1.5 : full > 0.15 ? -1.5 : -5,
        says: `It was full in ${sayPercent(full)} of the daylight of the last days`,
      },
    ];
  },
  settledBy: 'nothing need be done',
};
