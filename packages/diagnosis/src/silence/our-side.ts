import type { SilenceSeen } from '../seen-of-silence.ts';
import type { Cause } from '../weigh-causes.ts';

/** The fault is ours: broker, intake or the line to them. */
export const ourSide: Cause<SilenceSeen> = {
  cause: 'our-side',
  name: 'the fault is on our side',
  commonness: 0.3,
  weigh({ ownFault, others, lastWord }) {
    const evidence = [];
    if (ownFault !== undefined) evidence.push({ weight: 5, says: ownFault });
    if (others.expected >= 3) {
      const says = `${others.heard} of ${others.expected} other nodes are heard`;
      evidence.push(others.heard === 0 ? { weight: 4.5, says } : { weight: -5, says });
    }
    if (lastWord?.kind === 'farewell')
      evidence.push({
        weight: -3,
        says: 'Its last message said it was shutting down, in good order',
      });
    return evidence;
  },
  settledBy: 'the first message of any node',
};
