import type { SilenceSeen } from '../seen-of-silence.ts';
import type { Cause, Evidence } from '../weigh-causes.ts';
import { muteWithCharge } from './mute.ts';

/** Taken or broken by somebody. */
export const theft: Cause<SilenceSeen> = {
  cause: 'theft',
  name: 'taken, or broken by somebody',
  commonness: 0.15,
  weigh(seen) {
    const { lastDaylightPanelV, boxOpened, moved, visitUnderWay, lastWord } = seen;
    const evidence: Evidence[] = [];
    if (boxOpened === true) evidence.push({ weight: 3.5, says: 'Its box was opened' });
    if (moved === true) evidence.push({ weight: 3.5, says: 'It was moved' });
    const volts = lastDaylightPanelV ?? [];
    const last = volts.at(-1);
    const before = volts.at(-2);
    if (last !== undefined && before !== undefined) {
      if (last < 1 && before > 8)
        evidence.push({
          weight: 4,
          says: `Its panel fell from ${before.toFixed(1)} V to ${last.toFixed(1)} V in one step in daylight`,
        });
      else if (last > 3)
        evidence.push({ weight: -1.5, says: 'Its panel voltage was there to the last' });
    }
    // Once there is a sign of hands at work, theft explains a mute node with charge as well as a failure does.
    const isSigned = evidence.some(({ weight }) => weight > 0);
    if (isSigned && lastWord?.kind !== 'farewell') evidence.push(...muteWithCharge(seen));
    if (visitUnderWay === true) evidence.push({ weight: -4, says: 'A visit is under way there' });
    if (lastWord?.kind === 'farewell')
      evidence.push({
        weight: -4,
        says: 'Its last message said it was shutting down, in good order',
      });
    return evidence;
  },
  settledBy: 'the land-owner’s look or the police; do not confront anybody',
};
