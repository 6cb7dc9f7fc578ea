import { sayPercent } from '@duskline/domain';
import type { PowerSeen } from '../seen-of-power.ts';
import type { Cause } from '../weigh-causes.ts';
import { daysWithoutVoltage, sayGone } from './connector.ts';
import { recentMean, sayChange } from './recent-days.ts';

/** Harvest and load are as ever: what is seen is weather and season. */
export const nothingWrong: Cause<PowerSeen> = {
  cause: 'nothing-wrong',
  name: 'nothing wrong: weather and season',
  commonness: 4,
  weigh(seen) {
    const { yieldChange, loadChange, peerYield, capacityShare, notch, snowLikely } = seen;
    const evidence = [];
    if (yieldChange !== undefined)
      evidence.push({
        weight: yieldChange >= 0.85 ? 1.5 : yieldChange >= 0.7 ? -1 : -4,
        says: `Its harvest is ${sayChange(yieldChange)} than usual, weather taken out`,
      });
    if (loadChange !== undefined && loadChange > 1.3)
      evidence.push({ weight: -3, says: `Its load is ${sayChange(loadChange)} than usual` });
    if (capacityShare !== undefined && capacityShare < 0.75)
      evidence.push({
        weight: -3,
        says: `Its battery holds ${sayPercent(capacityShare)} of what is printed on it`,
      });
    if (notch !== undefined) evidence.push({ weight: -2, says: 'There is a new notch in its day' });
    const power = recentMean(seen, ({ powerShare }) => powerShare);
    if (power !== undefined && power < 0.3)
      evidence.push({ weight: -3, says: `Power came in ${sayPercent(power)} of the bright hours` });
    if (daysWithoutVoltage(seen) >= 2)
      evidence.push({ weight: -3, says: 'The panel’s voltage came and went in daylight' });
    const blocked = recentMean(seen, (day) => day.coldHours + day.hotHours);
    if (blocked !== undefined && blocked >= 2)
      evidence.push({
        weight: -2,
        says: `It could not be charged for ${blocked.toFixed(1)} bright hours a day`,
      });
    const full = recentMean(seen, ({ fullShare }) => fullShare);
    if (full !== undefined && full > 0.4)
      evidence.push({ weight: -1.5, says: 'Its battery was full much of the day' });
    const damp = recentMean(seen, ({ meanBoxRhPercent }) => meanBoxRhPercent, 2);
    if (damp !== undefined && damp > 93)
      evidence.push({ weight: -2, says: `The air in its box is at ${Math.round(damp)} %RH` });
    if (snowLikely === true && yieldChange !== undefined && yieldChange < 0.4)
      evidence.push({ weight: -1, says: 'Snow was likely' });
    if (peerYield !== undefined && peerYield < 0.3)
      evidence.push({
        weight: 1,
        says: `The other sites had only ${sayPercent(peerYield)} of a cloudless harvest`,
      });
    if (seen.voltageGoneHours !== undefined)
      evidence.push({ weight: -4, says: sayGone(seen.voltageGoneHours) });
    return evidence;
  },
  settledBy: 'the next bright days',
};
