import type { SilenceSeen } from '../seen-of-silence.ts';
import type { Cause } from '../weigh-causes.ts';

/** The node lives and logs; only its own link is gone. */
export const linkOne: Cause<SilenceSeen> = {
  cause: 'link-one',
  name: 'its own link is down',
  commonness: 0.8,
  weigh({ lastWord, signalSlopeDbPerDay, signalDbm, link, charge, node }) {
    const evidence = [];
    if (lastWord?.kind === 'farewell')
      evidence.push({
        weight: -5,
        says: 'Its last message said it was shutting down, in good order',
      });
    if (lastWord?.kind === 'dropped')
      evidence.push({ weight: 0.7, says: 'Its connection broke off' });
    if (signalSlopeDbPerDay !== undefined)
      evidence.push(
        signalSlopeDbPerDay < -0.3
          ? {
              weight: 3.2,
              says: `Its signal had been falling by ${(-signalSlopeDbPerDay).toFixed(1)} dB a day`,
            }
          : { weight: -1, says: 'Its signal had not been falling' },
      );
    if (signalDbm !== undefined && signalDbm < -105)
      evidence.push({ weight: 1, says: `Its signal was weak: ${Math.round(signalDbm)} dBm` });
    if (link !== undefined && link.fellSilentTogether >= 2)
      evidence.push({ weight: -2, says: 'Others of the same link fell silent with it' });
    if (charge !== undefined && charge.lowRatio <= node.power.shutDownRatio + 0.03)
      evidence.push({ weight: -1.5, says: 'Its charge was at the end' });
    return evidence;
  },
  settledBy: 'its backlog, when the link is back: complete and of the same boot',
};
