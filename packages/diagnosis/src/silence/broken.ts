import { sayPercent } from '@duskline/domain';
import type { SilenceSeen } from '../seen-of-silence.ts';
import type { Cause } from '../weigh-causes.ts';

/** Board, card or power path gave up with charge in the battery. */
export const broken: Cause<SilenceSeen> = {
  cause: 'broken',
  name: 'board, card or power cable failed',
  commonness: 1,
  weigh(seen) {
    const { charge, node, lastWord, others, brightHoursSince, link, signalSlopeDbPerDay } = seen;
    const evidence = [...explainedOtherwise(seen)];
    if (lastWord?.kind === 'farewell')
      evidence.push({
        weight: -3,
        says: 'Its last message said it was shutting down, in good order',
      });
    else evidence.push({ weight: 0.7, says: 'No message said that it was shutting down' });
    if (charge !== undefined)
      evidence.push(
        charge.lowRatio > node.power.shutDownRatio + 0.15
          ? { weight: 1.5, says: `Its charge was healthy: ${sayPercent(charge.ratio)}` }
          : { weight: -1.5, says: `Its charge was near the end: ${sayPercent(charge.ratio)}` },
      );
    if (others.expected >= 3 && others.heard / others.expected > 0.6)
      evidence.push({
        weight: 0.7,
        says: `${others.heard} of ${others.expected} other nodes are heard`,
      });
    if (link !== undefined && link.fellSilentTogether >= 2)
      evidence.push({
        weight: -3,
        says: `${link.fellSilentTogether} other nodes of the same link fell silent with it`,
      });
    if (brightHoursSince !== undefined && brightHoursSince >= 6 && lastWord?.kind !== 'farewell')
      evidence.push({
        weight: 1,
        says: `${Math.round(brightHoursSince)} bright hours have passed and it did not come back`,
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
