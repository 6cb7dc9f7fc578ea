import { sayMoment, sayPercent } from '@duskline/domain';
import type { SilenceSeen } from '../seen-of-silence.ts';
import type { Cause } from '../weigh-causes.ts';

/** It said farewell and stopped itself, as it is built to. */
export const darkDeclared: Cause<SilenceSeen> = {
  cause: 'dark-declared',
  name: 'dark as designed, it said so',
  commonness: 3,
  weigh({ lastWord, charge, node, site }) {
    if (lastWord?.kind !== 'farewell')
      return [{ weight: -7, says: 'No message said that it was shutting down' }];
    const level = node.power.shutDownRatio;
    const said = `Its message of ${sayMoment(lastWord.atMs, site.timeZone)} said it was shutting down: ${lastWord.reason}`;
    const evidence = [{ weight: 6, says: said }];
    const ratio = lastWord.chargeRatio ?? charge?.ratio;
    if (ratio === undefined) return evidence;
    const at = `Its charge was ${sayPercent(ratio)} then, its shut-down level ${sayPercent(level)}`;
    return [
      ...evidence,
      ratio <= level + 0.05 ? { weight: 1.5, says: at } : { weight: -2, says: at },
    ];
  },
  settledBy: 'its next message inside the expected window',
  settledAtMs: ({ back }) => back?.p90Ms,
};
