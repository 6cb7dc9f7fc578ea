import type { PowerSeen } from '../seen-of-power.ts';
import type { Cause } from '../weigh-causes.ts';
import { sayChange } from './recent-days.ts';

/** The board no longer sleeps, or something is left on. */
export const stuckAwake: Cause<PowerSeen> = {
  cause: 'stuck-awake',
  name: 'stuck awake: load high and flat',
  commonness: 0.7,
  weigh({ loadChange, recentLoadW, usualLoadW }) {
    if (loadChange === undefined) return undefined;
    const says = `Its load is ${sayChange(loadChange)} than usual (${recentLoadW?.toFixed(1)} W, usually ${usualLoadW?.toFixed(1)} W)`;
    return [
      {
        weight: loadChange > 1.5 ? 5 : loadChange > 1.3 ? 3.5 : loadChange > 1.15 ? -0.5 : -4,
        says,
      },
    ];
  },
  settledBy: 'one remote restart, or the software version before',
};
