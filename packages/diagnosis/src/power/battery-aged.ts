import { sayPercent } from '@duskline/domain';
import type { PowerSeen } from '../seen-of-power.ts';
import type { Cause } from '../weigh-causes.ts';

/** The battery holds less than it did: full too early, empty too early. */
export const batteryAged: Cause<PowerSeen> = {
  cause: 'battery-aged',
  name: 'battery aged',
  commonness: 0.7,
  weigh({ capacityShare, resistanceShare }) {
    if (capacityShare === undefined && resistanceShare === undefined) return undefined;
    const evidence = [];
    if (capacityShare !== undefined)
      evidence.push({
        weight: capacityShare < 0.65 ? 5 : capacityShare < 0.8 ? 3 : capacityShare < 0.9 ? -1 : -4,
        says: `It holds ${sayPercent(capacityShare)} of what is printed on it`,
      });
    if (resistanceShare !== undefined)
      evidence.push({
        weight: resistanceShare > 2 ? 2.5 : resistanceShare > 1.5 ? 0.7 : -1,
        says: `Its inner resistance is ${resistanceShare.toFixed(1)} times that of a new one`,
      });
    return evidence;
  },
  settledBy: 'the next deep cycle; a load test on a visit',
};
