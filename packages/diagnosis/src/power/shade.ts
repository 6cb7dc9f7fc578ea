import { sayPercent } from '@duskline/domain';
import type { PowerSeen } from '../seen-of-power.ts';
import type { Cause } from '../weigh-causes.ts';
import { recentMean } from './recent-days.ts';

/** A shadow gives nothing elsewhere: more than this is a panel that was turned (as in panel-moved.ts; our choice). */
const GAINS = 1.1;

/** Leaves, growth or a new obstacle: a notch that stands still against the sun. */
export const shade: Cause<PowerSeen> = {
  cause: 'shade',
  name: 'leaves or growth in the sun’s path',
  commonness: 0.9,
  weigh(seen) {
    const { notch, yieldChange } = seen;
    if (yieldChange === undefined && notch === undefined) return undefined;
    if (notch === undefined) return [{ weight: -3.5, says: 'No position of the sun stands out' }];
    const width = notch.toDeg - notch.fromDeg;
    const where = `With the sun between ${notch.fromDeg}° and ${notch.toDeg}° it gives ${sayPercent(notch.left)} of what it gave`;
    const turned =
      notch.outside > GAINS
        ? [{ weight: -3, says: 'Elsewhere in the day it gives more than before' }]
        : [];
    const blocked = recentMean(seen, (day) => day.coldHours + day.hotHours) ?? 0;
    if (blocked >= 2)
      turned.push({ weight: -2, says: 'In many bright hours its battery could not be charged' });
    return [
      ...turned,
      { weight: notch.left < 0.55 ? 5 : 3.8, says: where },
      width > 105
        ? { weight: -1.5, says: 'It is wide for a branch' }
        : { weight: 0.5, says: 'Outside it the harvest is as before' },
    ];
  },
  settledBy: 'a look along that bearing; cut only with the owner’s leave',
};
