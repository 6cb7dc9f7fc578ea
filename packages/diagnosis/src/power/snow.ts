import { sayPercent } from '@duskline/domain';
import type { PowerSeen } from '../seen-of-power.ts';
import type { Cause } from '../weigh-causes.ts';
import { sayGone } from './connector.ts';
import { recentMean } from './recent-days.ts';

/** Snow lies on the panel: voltage is there, power is not, and the others have it too. */
export const snow: Cause<PowerSeen> = {
  cause: 'snow',
  name: 'snow on the panel',
  commonness: 0.6,
  weigh(seen) {
    // It comes at once, as a dead charger does: both are judged by the same two days.
    const got = recentMean(seen, ({ yieldIndex }) => yieldIndex, 2);
    if (got === undefined) return undefined;
    const evidence = [];
    const { snowLikely, peerYield } = seen;
    if (snowLikely === true)
      evidence.push({
        weight: 4,
        says: 'Precipitation fell at or below 1 °C in the last days, and may not have melted',
      });
    else if (snowLikely === false)
      evidence.push({
        weight: -6,
        says: 'No precipitation fell at or below 1 °C that would not have melted',
      });
    else evidence.push({ weight: -1, says: 'Precipitation and air temperature are not known' });
    const volts = recentMean(seen, ({ voltageShare }) => voltageShare, 2);
    if (volts !== undefined)
      evidence.push(
        volts > 0.7
          ? { weight: 1, says: 'The panel’s voltage is there in daylight' }
          : {
              weight: -4,
              says: `The panel’s voltage is there in only ${sayPercent(volts)} of the daylight`,
            },
      );
    evidence.push(
      got < 0.08
        ? { weight: 2, says: `It gives ${sayPercent(got)} of a cloudless harvest` }
        : {
            weight: got < 0.2 ? -0.5 : -4,
            says: `It still gives ${sayPercent(got)} of a cloudless harvest`,
          },
    );
    if (peerYield !== undefined && peerYield < 0.12)
      evidence.push({ weight: 1, says: 'The other sites fare alike' });
    if (seen.voltageGoneHours !== undefined)
      evidence.push({ weight: -4, says: sayGone(seen.voltageGoneHours) });
    return evidence;
  },
  settledBy: 'thaw, or the snow sliding off; never climb for it',
};
