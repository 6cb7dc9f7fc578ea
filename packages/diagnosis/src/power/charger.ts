import type { PowerSeen } from '../seen-of-power.ts';
import type { Cause } from '../weigh-causes.ts';
import { sayGone } from './connector.ts';
import { recentMean } from './recent-days.ts';

/** The charger takes nothing although the panel offers and the battery could. */
export const charger: Cause<PowerSeen> = {
  cause: 'charger',
  name: 'charger failed',
  commonness: 0.5,
  weigh(seen) {
    const power = recentMean(seen, ({ powerShare }) => powerShare, 2);
    const volts = recentMean(seen, ({ voltageShare }) => voltageShare, 2);
    if (power === undefined) return undefined;
    const evidence = [
      power < 0.1
        ? { weight: 2.5, says: 'No power comes in bright hours though the battery could take it' }
        : { weight: -5, says: 'Power comes in' },
    ];
    if (volts !== undefined)
      evidence.push(
        volts > 0.85
          ? { weight: 2.5, says: 'The panel’s voltage is there' }
          : { weight: -4, says: 'The panel’s voltage is missing' },
      );
    else evidence.push({ weight: -1, says: 'The panel’s voltage is not measured' });
    if (seen.snowLikely === true)
      evidence.push({ weight: -2.5, says: 'Snow is likely and would look alike' });
    else if (seen.snowLikely === false) evidence.push({ weight: 1, says: 'No snow is likely' });
    if (seen.voltageGoneHours !== undefined)
      evidence.push({ weight: -4, says: sayGone(seen.voltageGoneHours) });
    return evidence;
  },
  settledBy: 'a meter: panel voltage at the charger’s input, no current at its output',
};
