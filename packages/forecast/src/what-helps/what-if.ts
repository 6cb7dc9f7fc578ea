import type { ForecastInputs } from '../forecast-inputs.ts';
import { type PreparedWalk, prepareWalk, type TooLittleData } from '../prepare-walk.ts';
import { type LogisticMap, recalibrated } from '../score/recalibrate.ts';
import { chanceBy, quantileWithinHorizon } from '../quantile-within-horizon.ts';
import { sayPercent } from '../say-amount.ts';
import type { WalkPlan, WalkTracks } from '../walk.ts';
import { walkAll } from '../walk-all.ts';
import { type Change, changedPlan } from './change.ts';

/** What one change would do, path by path under the same weather. */
export interface WhatIf {
  readonly change: Change;
  /** Later empty, or sooner back once dark; over the paths it matters to. Undefined: it matters to none. */
  readonly gainedDays?: {
    readonly p10: number;
    readonly p50: number;
    readonly p90: number;
    readonly mean: number;
  };
  /** Some paths then outlast the horizon: the true gain is larger. */
  readonly isAtLeast: boolean;
  /** Share of the paths that go dark within the horizon as things are (dark: that are not back by now). */
  readonly concernedShare: number;
  readonly darkWithin14Days: { readonly before: number; readonly after: number };
  readonly says: string;
  /** Said wherever the change is offered: it can hurt people. */
  readonly caution?: string;
}

/**
 * What one change would do to the outlook: the same paths, drawn from the same seed, walked with and without it.
 *
 * @param map  how the chances of the outlook were bent; theirs are bent alike, or the two could not stand beside each other
 * @returns the gain; or what is short
 * @throws RangeError when a share or factor is out of range (a caller's bug)
 * @accuracy the gain of each path is exact, for both walks share their chance (common random numbers); more of a good thing never
 *           gains less: what-if.test.ts
 */
export function whatIf(
  inputs: ForecastInputs,
  change: Change,
  map?: LogisticMap,
): WhatIf | TooLittleData {
  const prepared = prepareWalk(inputs);
  if (prepared.kind === 'too-little') return prepared;
  const { tracks } = walkAll(inputs, prepared.plan, prepared.doubt);
  return compareWith(inputs, { prepared, tracks, change, map });
}

/** As `whatIf`, where the paths as things are have been walked already. */
export function compareWith(
  inputs: ForecastInputs,
  base: {
    readonly prepared: PreparedWalk;
    readonly tracks: WalkTracks;
    readonly change: Change;
    readonly map: LogisticMap | undefined;
  },
): WhatIf {
  const { prepared, tracks, change, map } = base;
  const { plan, doubt } = prepared;
  const then = walkAll(inputs, changedPlan(prepared, change), doubt).tracks;
  const isDark = plan.startsAs === 'dark';
  const horizonDays = plan.horizonH / 24;
  const gains: number[] = [];
  let isAtLeast = false;
  for (let path = 0; path < tracks.emptyHours.length; path++) {
    const beforeDays = daysOf(isDark ? tracks.returnHours : tracks.emptyHours, path, plan);
    const afterDays = daysOf(isDark ? then.returnHours : then.emptyHours, path, plan);
    if (isDark ? beforeDays <= 0 : beforeDays > horizonDays) continue;
    const before = Math.min(horizonDays, beforeDays);
    const after = Math.min(horizonDays, Math.max(0, afterDays));
    if (isDark ? beforeDays > horizonDays : afterDays > horizonDays) isAtLeast = true;
    gains.push(isDark ? before - after : after - before);
  }
  const sorted = Float64Array.from(gains).sort();
  const gainedDays =
    sorted.length === 0
      ? undefined
      : {
          p10: quantileWithinHorizon(sorted, 0.1)!,
          p50: quantileWithinHorizon(sorted, 0.5)!,
          p90: quantileWithinHorizon(sorted, 0.9)!,
          mean: sorted.reduce((sum, days) => sum + days, 0) / sorted.length,
        };
  const darkWithin14Days = {
    before: isDark ? 1 : recalibrated(darkWithin(tracks, plan, 14), map),
    after: isDark ? 1 : recalibrated(darkWithin(then, plan, 14), map),
  };
  const found = { change, isAtLeast, darkWithin14Days };
  const caution = CAUTIONS[change.kind];
  return {
    ...found,
    ...(gainedDays !== undefined && { gainedDays }),
    concernedShare: sorted.length / tracks.emptyHours.length,
    says: saysOf({ ...found, gainedDays, horizonDays, isDark }),
    ...(caution !== undefined && { caution }),
  };
}

const daysOf = (hours: Float64Array, path: number, { nowH }: WalkPlan): number =>
  (hours[path]! - nowH) / 24;

function darkWithin({ emptyHours }: WalkTracks, plan: WalkPlan, days: number): number {
  const times = Float64Array.from(emptyHours, (_, path) => daysOf(emptyHours, path, plan)).sort();
  return chanceBy(times, days);
}

function saysOf(found: {
  readonly change: Change;
  readonly gainedDays: WhatIf['gainedDays'];
  readonly isAtLeast: boolean;
  readonly darkWithin14Days: WhatIf['darkWithin14Days'];
  readonly horizonDays: number;
  readonly isDark: boolean;
}): string {
  const { change, gainedDays, isAtLeast, darkWithin14Days, horizonDays, isDark } = found;
  const name = nameOf(change);
  if (gainedDays === undefined)
    return `${name}: nothing to gain, it is not expected to go dark within ${Math.round(horizonDays)} days.`;
  const chance =
    `the chance to be dark within 14 days goes from ${sayPercent(darkWithin14Days.before)} ` +
    `to ${sayPercent(darkWithin14Days.after)}.`;
  const isNothing = [gainedDays.p10, gainedDays.p90, gainedDays.mean].every(rounds0);
  if (isNothing)
    return isDark
      ? `${name}: back no sooner.`
      : `${name}: no days gained before the next stop; ${chance}`;
  const days = (value: number): string => value.toFixed(1);
  // "0.0 days more" would hide what it brings in the other half.
  const comesLate = rounds0(gainedDays.p50) && gainedDays.mean > 0 && !rounds0(gainedDays.mean);
  const gained = comesLate ? gainedDays.mean : gainedDays.p50;
  const onAverage = comesLate ? ' on average' : '';
  // "At least 0.0 days" would say nothing.
  const atLeast = isAtLeast && !rounds0(gained) ? 'at least ' : '';
  const range = `${days(gainedDays.p10)} to ${days(gainedDays.p90)} days in eight cases of ten`;
  if (isDark)
    return (
      `${name}: ${comesLate ? 'no sooner in half of the cases; ' : ''}` +
      `back ${atLeast}${days(gained)} days sooner${onAverage} (${range}).`
    );
  return (
    `${name}: ${comesLate ? 'too late for the next stop in half of the cases; ' : ''}` +
    `${atLeast}${days(gained)} days more${onAverage} where it would go dark (${range}); ${chance}`
  );
}

/** Said with one digit it would be 0.0. */
const rounds0 = (days: number): boolean => Math.abs(days) < 0.05;

function nameOf(change: Change): string {
  switch (change.kind) {
    case 'mend-harvest':
      return `Mending what keeps the harvest away (${change.cause})`;
    case 'log-less':
      return `Logging less, so that the node draws ${sayPercent(change.savedShare)} less`;
    case 'less-at-night':
      return `Drawing ${sayPercent(change.savedShare)} less in the hours without sun`;
    case 'clean-panel':
      return `Cleaning the panel, if that gives ${sayPercent(change.factor - 1)} more`;
    case 'bigger-panel':
      return `A panel ${change.factor} times as large`;
    case 'bigger-battery':
      return `A battery ${change.factor} times as large and as full`;
    case 'tilt':
      return `Tilting the panel to ${Math.round(change.tiltDeg)}°`;
  }
}

const AT_HEIGHT =
  'Work at height and alone needs a plan and a second person who knows where you are; follow local rules.';
const CAUTIONS: Readonly<Record<Change['kind'], string | undefined>> = {
  'mend-harvest': `A panel in daylight is live: cover it before you part a connector. ${AT_HEIGHT}`,
  'log-less': undefined,
  'less-at-night': undefined,
  'clean-panel': AT_HEIGHT,
  tilt: AT_HEIGHT,
  'bigger-panel': `The charger and the mount must be made for it. ${AT_HEIGHT}`,
  'bigger-battery':
    'Same chemistry as the charger is set for, with its own protection; lithium cells can burn. Follow the maker’s ' +
    'instructions and local codes, or ask a licensed person.',
};
