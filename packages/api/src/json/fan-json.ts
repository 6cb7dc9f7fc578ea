import type { FanJson } from '@duskline/contract';
import { SECOND_MS, type Outlook } from '@duskline/domain';
import { instant } from './instant.ts';
import { wholePercent } from './whole-percent.ts';

interface FanExtent {
  /** Points after this are left out. */
  readonly untilMs: number;
  /** Points nearer to each other than this are thinned out. */
  readonly minStepMs: number;
}

/** The fan of an outlook in whole per cent, or null where the outlook has none. */
export function fanJson(outlook: Outlook | undefined, extent: FanExtent): FanJson | null {
  if (outlook === undefined || outlook.kind === 'insufficient-data') return null;
  const { fan } = outlook;
  const stride = Math.max(1, Math.ceil(extent.minStepMs / fan.stepMs));
  const last = Math.floor((extent.untilMs - fan.startMs) / fan.stepMs);
  const thinned = (ratios: readonly number[]): number[] => {
    const percent: number[] = [];
    for (let i = 0; i <= last; i += stride) {
      const ratio = ratios[i];
      if (ratio === undefined) break;
      percent.push(wholePercent(ratio));
    }
    return percent;
  };
  return {
    start: instant(fan.startMs),
    stepS: (fan.stepMs * stride) / SECOND_MS,
    p10: thinned(fan.p10),
    p50: thinned(fan.p50),
    p90: thinned(fan.p90),
  };
}
