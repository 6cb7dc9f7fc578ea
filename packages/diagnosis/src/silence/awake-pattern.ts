import { sayPercent } from '@duskline/domain';
import type { SilenceSeen } from '../seen-of-silence.ts';
import type { Cause } from '../weigh-causes.ts';

/** It sleeps too long or hangs awake: what it did in the days before was out of its habit. */
export const awakePattern: Cause<SilenceSeen> = {
  cause: 'awake-pattern',
  name: 'asleep too long, or hung',
  commonness: 0.4,
  weigh({ lastDayLoadShare, lastWord, charge, node, brightHoursSince }) {
    const evidence = [];
    if (lastWord?.kind === 'farewell')
      evidence.push({
        weight: -3,
        says: 'Its last message said it was shutting down, in good order',
      });
    if (lastDayLoadShare !== undefined) {
      const says = `Its load on the last day was ${sayPercent(lastDayLoadShare)} of its usual load`;
      const odd = lastDayLoadShare > 1.4 || lastDayLoadShare < 0.5;
      evidence.push(odd ? { weight: 3, says } : { weight: -1.5, says });
      // A hung board is as mute as a broken one: what speaks against darkness and links speaks for both.
      if (odd && lastWord?.kind !== 'farewell') evidence.push(...muteAsBroken());
    }
    return evidence;

    function muteAsBroken() {
      const mute = [{ weight: 0.7, says: 'No message said that it was shutting down' }];
      if (charge !== undefined && charge.lowRatio > node.power.shutDownRatio + 0.15)
        mute.push({ weight: 1.5, says: `Its charge was healthy: ${sayPercent(charge.ratio)}` });
      if ((brightHoursSince ?? 0) >= 6)
        mute.push({ weight: 1, says: 'It did not come back in bright hours' });
      return mute;
    }
  },
  settledBy: 'its next message, or a restart on a visit',
};
