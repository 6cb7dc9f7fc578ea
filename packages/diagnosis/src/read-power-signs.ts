import type { FieldNode, Site } from '@duskline/domain';
import { readDays, solarDayNumber, type DaySigns } from './day-signs.ts';
import { given } from './given.ts';
import { harvestGone } from './harvest-gone.ts';
import type { PowerHours } from './power-hours.ts';
import type { PowerSeen } from './seen-of-power.ts';
import { voltageGoneHours } from './voltage-gone.ts';
import { afternoonGain, findShadeNotch } from './shade-notch.ts';

const RECENT_DAYS = 3;
/** Of the last days heard: one that could be judged before them says nothing of how it is now, cells were too cold since, or full. */
const LATELY_DAYS = 5;
const USUAL_DAYS = 14;
const TREND_DAYS = 21;
/** Single days stray by their own clouds; the median of a week does so little. */
const BEST_DAYS = 7;
/** Growth takes weeks; a panel turns in one night. */
const SHADE_DAYS = 10;
const TURN_DAYS = 6;
/** A day's rain that washes a panel (Kimber et al. 2006, default of the model as quoted in trade practice). */
const WASHING_MM = 6;

/**
 * Reads the last weeks of power for what the causes ask.
 *
 * @param about.capacityShare    learnt present capacity ÷ rated, where it is known
 * @param about.resistanceShare  learnt resistance ÷ that of a new battery
 */
export function readPowerSigns(
  hours: PowerHours,
  about: {
    readonly nowMs: number;
    readonly site: Site;
    readonly node: FieldNode;
    readonly capacityShare?: number;
    readonly resistanceShare?: number;
  },
): PowerSeen {
  const today = solarDayNumber(about.nowMs, hours.longitudeDeg);
  const days = readDays(hours).filter(({ day }) => day < today);
  const yields = yieldsOf(days);
  const lastDay = days.at(-1)?.day ?? today;
  const lately = yields.slice(-RECENT_DAYS).filter(({ day }) => day > lastDay - LATELY_DAYS);
  const recent = median(lately.map(({ value }) => value));
  const usual = median(
    yields.slice(-RECENT_DAYS - USUAL_DAYS, -RECENT_DAYS).map(({ value }) => value),
  );
  const loads = days.flatMap(({ meanLoadW }) => meanLoadW ?? []);
  const recentLoadW = median(loads.slice(-1));
  const usualLoadW = median(loads.slice(-1 - USUAL_DAYS, -1));
  const peers = days.slice(-RECENT_DAYS).flatMap(({ day }) => hours.peerYield?.get(day) ?? []);
  const notch = findShadeNotch(hours, SHADE_DAYS * 24);
  const wet = days.findLast(({ rainMm }) => rainMm !== undefined && rainMm >= WASHING_MM);
  const gone = harvestGone(hours);
  const rainKnown = days.some(({ rainMm }) => rainMm !== undefined);
  return {
    ...about,
    days,
    ...given('voltageGoneHours', voltageGoneHours(hours)),
    ...(gone === undefined ? {} : { harvestGone: gone }),
    ...given('recentYield', recent),
    ...given('usualYield', usual),
    ...given('yieldChange', share(recent, usual)),
    ...given('yieldAgainstBest', againstBest(days)),
    ...given('yieldSlopePerDay', slope(yields.slice(-TREND_DAYS), usual)),
    ...(notch === undefined ? {} : { notch }),
    ...given('afternoonGain', afternoonGain(hours, TURN_DAYS * 24)),
    ...given('recentLoadW', recentLoadW),
    ...given('usualLoadW', usualLoadW),
    ...given('loadChange', share(recentLoadW, usualLoadW)),
    ...given('peerYield', median(peers)),
    ...given('dryDays', rainKnown ? today - (wet?.day ?? days[0]?.day ?? today) : undefined),
    ...snow(days.slice(-RECENT_DAYS)),
  };
}

/** Against the other sites where they are known, so that a week of cloud is not taken for soil. */
function yieldsOf(days: readonly DaySigns[]): { readonly day: number; readonly value: number }[] {
  const relative = days.flatMap(({ day, relativeYield }) =>
    relativeYield === undefined ? [] : [{ day, value: relativeYield }],
  );
  if (relative.length >= days.length / 3 && relative.length > 0) return relative;
  return days.flatMap(({ day, yieldIndex }) =>
    yieldIndex === undefined ? [] : [{ day, value: yieldIndex }],
  );
}

/** Only against other sites: alone, a dull fortnight after a bright one would pass for dirt. */
function againstBest(days: readonly DaySigns[]): number | undefined {
  const yields = days.flatMap(({ relativeYield }) => relativeYield ?? []);
  if (yields.length < 2 * BEST_DAYS) return undefined;
  const weeks = yields.flatMap((_, end) =>
    end + 1 < BEST_DAYS ? [] : (median(yields.slice(end + 1 - BEST_DAYS, end + 1)) ?? []),
  );
  return share(weeks.at(-1), Math.max(...weeks));
}

function snow(days: readonly DaySigns[]): { readonly snowLikely?: boolean } {
  const known = days.flatMap(({ snowMm }) => snowMm ?? []);
  return known.length === 0 ? {} : { snowLikely: known.some((mm) => mm > 0.2) };
}

function median(values: readonly number[]): number | undefined {
  if (values.length === 0) return undefined;
  const sorted = [...values].sort((a, b) => a - b);
  const middle = sorted.length >> 1;
  return sorted.length % 2 === 1
    ? sorted[middle]
    : ((sorted[middle - 1] ?? 0) + (sorted[middle] ?? 0)) / 2;
}

const share = (a: number | undefined, b: number | undefined): number | undefined =>
  a === undefined || b === undefined || b <= 0 ? undefined : a / b;

/** Theil-Sen slope (Sen 1968): the median of the slopes of all pairs, so that single days do not turn it. */
function slope(
  points: readonly { readonly day: number; readonly value: number }[],
  usual: number | undefined,
): number | undefined {
  if (points.length < 7 || usual === undefined || usual <= 0) return undefined;
  const slopes: number[] = [];
  for (let i = 0; i < points.length; i++)
    for (let j = i + 1; j < points.length; j++) {
      const a = points[i]!;
      const b = points[j]!;
      slopes.push((b.value - a.value) / (b.day - a.day));
    }
  const middle = median(slopes);
  return middle === undefined ? undefined : middle / usual;
}
