import type { SilenceSeen } from '../seen-of-silence.ts';
import type { Cause } from '../weigh-causes.ts';

/** It speaks, but its clock was reset: its readings come dated to another year. */
export const clockReset: Cause<SilenceSeen> = {
  cause: 'clock-reset',
  name: 'its clock was reset',
  commonness: 0.3,
  weigh({ misdatedMessages = 0 }) {
    return misdatedMessages > 0
      ? [
          {
            weight: 6,
            says: `${misdatedMessages} messages came since, dated to an impossible time; they are in quarantine`,
          },
        ]
      : [{ weight: -5, says: 'No message with an impossible date came' }];
  },
  settledBy:
    'its clock set right, or readings sent with relative times; the kept messages can then be replayed',
};
