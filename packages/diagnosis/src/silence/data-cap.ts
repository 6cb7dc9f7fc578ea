import { sayMoment, sayPercent } from '@duskline/domain';
import type { SilenceSeen } from '../seen-of-silence.ts';
import type { Cause } from '../weigh-causes.ts';

/** Its data plan is used up: silent by contract until the plan begins anew. */
export const dataCap: Cause<SilenceSeen> = {
  cause: 'data-cap',
  name: 'its data plan is used up',
  commonness: 0.4,
  weigh({ dataPlan, lastWord }) {
    if (dataPlan === undefined) return undefined;
    const used = dataPlan.usedBytes / dataPlan.capBytes;
    const says = `It had used ${sayPercent(used)} of its plan this month`;
    const evidence = [
      { weight: used >= 0.97 ? 5 : used >= 0.9 ? 2 : used >= 0.75 ? -1 : -5, says },
    ];
    if (lastWord?.kind === 'farewell')
      evidence.push({
        weight: -4,
        says: 'Its last message said it was shutting down, in good order',
      });
    return evidence;
  },
  settledBy: ({ dataPlan, site }) =>
    dataPlan === undefined
      ? 'a top-up'
      : `a top-up, or ${sayMoment(dataPlan.renewsAtMs, site.timeZone)} when the plan begins anew`,
  settledAtMs: ({ dataPlan }) => dataPlan?.renewsAtMs,
};
