import { sayPercent } from '@duskline/domain';
import type { SilenceSeen } from '../seen-of-silence.ts';
import type { Cause } from '../weigh-causes.ts';
import { muteWithCharge } from './mute.ts';

/** It sleeps too long or hangs awake: what it did in the days before was out of its habit. */
export const awakePattern: Cause<SilenceSeen> = {
  cause: 'awake-pattern',
  name: 'asleep too long, or hung',
  commonness: 0.4,
  weigh(seen) {
    const { lastDayLoadShare, lastWord } = seen;
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
      if (odd && lastWord?.kind !== 'farewell') evidence.push(...muteWithCharge(seen));
    }
    return evidence;
  },
  settledBy: 'its next message, or a restart on a visit',
};
