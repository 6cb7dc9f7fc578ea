import { DAY_MS, sayPercent } from '@duskline/domain';
import type { SilenceSeen } from '../seen-of-silence.ts';
import type { Cause } from '../weigh-causes.ts';

/** It stopped itself by its charge, though no farewell came through. */
export const darkInferred: Cause<SilenceSeen> = {
  cause: 'dark-inferred',
  name: 'dark as designed, by its falling charge',
  commonness: 2,
  weigh(seen) {
    const { charge, node, lastWord, outlookBefore } = seen;
    if (lastWord?.kind === 'farewell')
      return [
        {
          weight: -5,
          says: 'Its last message said it was shutting down, so nothing need be inferred',
        },
      ];
    if (charge === undefined) return [{ weight: -1.5, says: 'Its last charge is not known' }];
    const level = node.power.shutDownRatio;
    const above = charge.lowRatio - level;
    const evidence = [
      {
        weight: above <= 0.03 ? 3.5 : above <= 0.12 ? 0 : above <= 0.25 ? -2.5 : -5,
        says: `Its last charge was ${sayPercent(charge.ratio)} (${sayPercent(charge.lowRatio)}–${sayPercent(charge.highRatio)}), its shut-down level ${sayPercent(level)}`,
      },
    ];
    if (outlookBefore?.kind === 'empties-in') {
      const stoppedAtMs = seen.lastObservedAtMs ?? seen.lastHeardAtMs ?? seen.nowMs;
      const early = outlookBefore.issuedAtMs + (outlookBefore.p10Days - 0.5) * DAY_MS;
      evidence.push(
        stoppedAtMs >= early && above <= 0.2
          ? { weight: 2.5, says: 'Its outlook had put the stop at this time' }
          : { weight: -0.5, says: 'Its outlook had put the stop later' },
      );
    } else if (outlookBefore?.kind === 'beyond-horizon')
      evidence.push({ weight: -2, says: 'Its outlook foresaw no stop' });
    return evidence;
  },
  settledBy: 'its next message inside the expected window; after it, the node is overdue',
  settledAtMs: ({ back }) => back?.p90Ms,
};
