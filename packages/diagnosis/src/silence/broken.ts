import { sayPercent } from '@duskline/domain';
import type { SilenceSeen } from '../seen-of-silence.ts';
import type { Cause } from '../weigh-causes.ts';
import { muteWithCharge } from './mute.ts';

/** Board, card or power path gave up with charge in the battery. */
export const broken: Cause<SilenceSeen> = {
  cause: 'broken',
  name: 'board, card or power cable failed',
  commonness: 1,
  weigh(seen) {
    const { charge, node, lastWord, link, signalSlopeDbPerDay } = seen;
    const evidence = [...explainedOtherwise(seen), ...muteWithCharge(seen)];
    if (lastWord?.kind === 'farewell')
      evidence.push({
        weight: -3,
        says: 'Its last message said it was shutting down, in good order',
      });
    if (charge !== undefined && charge.lowRatio <= node.power.shutDownRatio + 0.15)
      evidence.push({
        weight: -1.5,
        says: `Its charge was near the end: ${sayPercent(charge.ratio)}`,
      });
    if (link !== undefined && link.fellSilentTogether >= 2)
      evidence.push({
        weight: -3,
        says: `${link.fellSilentTogether} other nodes of the same link fell silent with it`,
      });
    if (signalSlopeDbPerDay !== undefined && signalSlopeDbPerDay > -0.2)
      evidence.push({ weight: 0.4, says: 'Its signal had not been falling' });
    return evidence;
  },
  settledBy: 'a visit, or any later message',
};

/** What makes a failure unnecessary to explain the silence. */
function explainedOtherwise({ dataPlan, misdatedMessages = 0, lastDayLoadShare }: SilenceSeen) {
  const evidence = [];
  if (dataPlan !== undefined && dataPlan.usedBytes >= 0.95 * dataPlan.capBytes)
    evidence.push({ weight: -1.5, says: 'Its data plan was all but used up' });
  if (misdatedMessages > 0)
    evidence.push({ weight: -4, says: 'Messages of it still come, with an impossible date' });
  if (lastDayLoadShare !== undefined && (lastDayLoadShare > 1.4 || lastDayLoadShare < 0.5))
    evidence.push({ weight: -1.5, says: 'Its load had been out of its habit' });
  return evidence;
}
