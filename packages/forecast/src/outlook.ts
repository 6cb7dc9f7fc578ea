import {
  DAY_MS,
  HOUR_MS,
  type Outlook,
  type OutlookDrivers,
  type OutlookReason,
  type OutlookWeather,
  type OutlookFan,
  type OutlookFrame,
  type ReturnOutlook,
} from '@duskline/domain';
import { daysToEmpty, daysToReturn, pathsStillDark, type Walked } from './path-times.ts';
import { chanceBy, quantileWithinHorizon, rankOf } from './quantile-within-horizon.ts';
import { selectRanks } from './select-ranks.ts';

/** Fewer paths than this cannot speak for what is still possible. */
const LEAST_PATHS = 10;

/** What an outlook explains itself with. */
export interface Explanation {
  readonly drivers: OutlookDrivers;
  readonly weather: OutlookWeather;
  readonly reasons: readonly OutlookReason[];
}

/**
 * Sums the paths up as an outlook.
 *
 * @param frame    when it was issued, how far it looks, what made it
 * @param walked   the plan and what came of its paths
 * @param why      the figures behind it, and what they mean in words
 * @returns 'empties-in' or 'beyond-horizon'. While dark all days are 0, and `back` is the window given that the node is not
 *          back yet; `back` is left out when hardly any path explains that it is still dark
 */
export function summarise(frame: OutlookFrame, walked: Walked, why: Explanation): Outlook {
  return walked.plan.startsAs === 'dark'
    ? whileDark(frame, walked, why)
    : whileUp(frame, walked, why);
}

function whileUp(frame: OutlookFrame, { plan, tracks }: Walked, why: Explanation): Outlook {
  const days = daysToEmpty({ plan, tracks }, frame.horizonDays);
  const figures = {
    ...frame,
    darkWithin3DaysProbability: chanceBy(days, 3),
    darkWithin7DaysProbability: chanceBy(days, 7),
    darkWithin14DaysProbability: chanceBy(days, 14),
    fan: fanOf(frame, { plan, tracks }, everyPath(days.length)),
    ...why,
  };
  const p10Days = quantileWithinHorizon(days, 0.1);
  if (p10Days === undefined) return { kind: 'beyond-horizon', ...figures };
  const p50Days = quantileWithinHorizon(days, 0.5);
  const p90Days = quantileWithinHorizon(days, 0.9);
  return {
    kind: 'empties-in',
    p10Days,
    ...(p50Days !== undefined && { p50Days }),
    ...(p90Days !== undefined && { p90Days }),
    ...figures,
  };
}

function whileDark(frame: OutlookFrame, { plan, tracks }: Walked, why: Explanation): Outlook {
  const stillDark = pathsStillDark({ plan, tracks });
  const isExplained = stillDark.length >= Math.min(LEAST_PATHS, tracks.returnHours.length);
  const days = daysToReturn({ plan, tracks }, frame.horizonDays);
  const certain = chanceBy(new Float64Array(tracks.returnHours.length), 0);
  return {
    kind: 'empties-in',
    ...frame,
    p10Days: 0,
    p50Days: 0,
    p90Days: 0,
    darkWithin3DaysProbability: certain,
    darkWithin7DaysProbability: certain,
    darkWithin14DaysProbability: certain,
    fan: fanOf(frame, { plan, tracks }, isExplained ? stillDark : []),
    ...why,
    ...(isExplained && { back: returnOutlook(days, frame.issuedAtMs) }),
  };
}

function returnOutlook(days: Float64Array, issuedAtMs: number): ReturnOutlook {
  const p10Days = quantileWithinHorizon(days, 0.1);
  if (p10Days === undefined) return { kind: 'out-of-reach' };
  const p50Days = quantileWithinHorizon(days, 0.5);
  const p90Days = quantileWithinHorizon(days, 0.9);
  const at = (daysAhead: number): number => Math.round(issuedAtMs + daysAhead * DAY_MS);
  return {
    kind: 'expected-back',
    window: {
      p10Ms: at(p10Days),
      ...(p50Days !== undefined && { p50Ms: at(p50Days) }),
      ...(p90Days !== undefined && { p90Ms: at(p90Days) }),
    },
  };
}

/** Charge at P10, P50 and P90 of the given paths; empty when there are none. */
function fanOf(
  frame: OutlookFrame,
  { plan, tracks }: Walked,
  paths: readonly number[],
): OutlookFan {
  const { count, everyH } = plan.fan;
  const all = tracks.emptyHours.length;
  const p10: number[] = [];
  const p50: number[] = [];
  const p90: number[] = [];
  const charge = new Float32Array(paths.length);
  const ranks = [0.1, 0.5, 0.9].map((share) => rankOf(paths.length, share));
  for (let k = 0; k < count && paths.length > 0; k++) {
    const noted = tracks.charge.subarray(k * all, (k + 1) * all);
    for (let i = 0; i < paths.length; i++) charge[i] = noted[paths[i]!]!;
    const [low, middle, high] = selectRanks(paths.length === all ? noted : charge, ranks) as [
      number,
      number,
      number,
    ];
    p10.push(low);
    p50.push(middle);
    p90.push(high);
  }
  return { startMs: frame.issuedAtMs, stepMs: everyH * HOUR_MS, p10, p50, p90 };
}

const everyPath = (count: number): readonly number[] => Array.from({ length: count }, (_, i) => i);
