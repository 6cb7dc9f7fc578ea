import type { CrossLimits, LimitBeneath } from '@duskline/domain';
import type { ApiDeps } from '../src/api-deps.ts';

const zero: LimitBeneath<number> = { limit: 0, from: 'default', source: 'the test' };
const cross: Readonly<Record<keyof CrossLimits, LimitBeneath<number>>> = {
  nightBelowDeg: zero,
  panelWAtNight: zero,
  panelAAtNight: zero,
  panelVAtNight: zero,
  dewPointAboveAirC: zero,
  gustBelowMeanMs: zero,
  clearSkyRatio: zero,
  clearSkyS: zero,
  clearSkyLeastWPerM2: zero,
  chargeJumpPct: zero,
  chargeJumpS: zero,
  currentA: zero,
  currentBelowWPerM2: zero,
  rainMm: zero,
  rainBelowRhPct: zero,
};

/** What holds beneath, of one limit only: the spike of the battery voltage, 0.5 V by default. */
export const fakeLimitsBeneath: ApiDeps['limitsBeneath'] = (layers) => {
  const set = layers.findLast(({ limits }) => limits.metrics?.batt_v?.spike !== undefined);
  return {
    metrics: {
      batt_v: {
        spike:
          set === undefined
            ? { limit: { suspect: 0.5 }, from: 'default', source: 'the test' }
            : { limit: set.limits.metrics?.batt_v?.spike ?? null, from: set.from, source: null },
      },
    },
    cross,
  };
};
