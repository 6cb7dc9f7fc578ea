import { sayPercent } from '@duskline/domain';
import type { PowerSeen } from '../seen-of-power.ts';
import type { Cause } from '../weigh-causes.ts';
import { sayGone } from './connector.ts';
import { recentMean, sayChange } from './recent-days.ts';

/** Dust, pollen, lime or moss: less by the same share all day, slowly. */
export const soiling: Cause<PowerSeen> = {
  cause: 'soiling',
  name: 'panel soiled',
  commonness: 1,
  weigh(seen) {
    const { yieldChange, yieldSlopePerDay, notch, dryDays } = seen;
    if (yieldChange === undefined) return undefined;
    const evidence = [
      {
        weight: yieldChange < 0.4 ? -2 : yieldChange < 0.9 ? 1.5 : yieldChange < 0.96 ? 0 : -3,
        says: `Its harvest is ${sayChange(yieldChange)} than usual, weather taken out`,
      },
    ];
    if (yieldSlopePerDay !== undefined)
      evidence.push(
        yieldSlopePerDay < -0.04
          ? { weight: -1.5, says: 'It fell too fast for dust' }
          : yieldSlopePerDay < -0.005
            ? { weight: 2, says: `It slides by ${sayPercent(-yieldSlopePerDay * 7)} a week` }
            : { weight: -1, says: 'It does not slide' },
      );
    if (notch !== undefined)
      evidence.push({ weight: -3, says: 'The loss is at one position of the sun, not all day' });
    if (dryDays !== undefined)
      evidence.push(
        dryDays >= 10
          ? { weight: 1, says: `No washing rain for ${dryDays} days` }
          : { weight: -0.7, says: `Rain washed it ${dryDays} days ago` },
      );
    const volts = recentMean(seen, ({ voltageShare }) => voltageShare);
    if (volts !== undefined && volts < 0.6)
      evidence.push({ weight: -4, says: 'The panel’s voltage is missing' });
    const power = recentMean(seen, ({ powerShare }) => powerShare);
    if (power !== undefined && power < 0.5)
      evidence.push({ weight: -3, says: 'Power is missing altogether in bright hours' });
    const blocked = recentMean(seen, (day) => day.coldHours + day.hotHours);
    if (blocked !== undefined && blocked >= 2)
      evidence.push({ weight: -1.5, says: 'Much of its loss is charging blocked by temperature' });
    if (seen.voltageGoneHours !== undefined)
      evidence.push({ weight: -4, says: sayGone(seen.voltageGoneHours) });
    return evidence;
  },
  settledBy: 'a jump up after rain of 6 mm, or after cleaning',
};
