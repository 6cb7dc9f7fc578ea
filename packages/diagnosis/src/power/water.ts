import type { PowerSeen } from '../seen-of-power.ts';
import type { Cause } from '../weigh-causes.ts';
import { recentMean } from './recent-days.ts';

/** Water got into the box. */
export const water: Cause<PowerSeen> = {
  cause: 'water',
  name: 'water in the box',
  commonness: 0.4,
  weigh(seen) {
    const damp = recentMean(seen, ({ meanBoxRhPercent }) => meanBoxRhPercent, 2);
    if (damp === undefined) return undefined;
    const before = recentMean(
      { ...seen, days: seen.days.slice(0, -3) },
      ({ meanBoxRhPercent }) => meanBoxRhPercent,
      14,
    );
    const says = `The air in its box is at ${Math.round(damp)} %RH`;
    const evidence = [{ weight: damp > 95 ? 5 : damp > 90 ? 3 : damp > 80 ? -1.5 : -5, says }];
    if (before !== undefined && damp - before > 15)
      evidence.push({ weight: 1, says: `It was ${Math.round(before)} %RH before` });
    return evidence;
  },
  settledBy: 'a look at seals and glands on a dry day',
};
