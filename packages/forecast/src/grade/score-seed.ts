import type { HourlyHistory, Outlook } from '@duskline/domain';
import { balanceDaysToEmpty, noSunDaysToEmpty } from '../score/index.ts';

/** What the plain rules said when an outlook was issued: days to the shut-down level, null = never. Plain JSON. */
export interface BaselineDays {
  readonly lastDay: number | null;
  readonly lastWeek: number | null;
  readonly noSun: number | null;
}

export const baselineNames = ['lastDay', 'lastWeek', 'noSun'] as const;
export type BaselineName = (typeof baselineNames)[number];

/** Many paths, said by few: enough for the scores, small enough to keep with every outlook. */
const MEMBERS = 100;

/**
 * What the plain rules say of the same node from the same past.
 *
 * @param history  cut at the time of issue
 */
export function baselinesOf(history: HourlyHistory, reserveWh: number): BaselineDays {
  const facts = { panelW: history.panelW, loadW: history.loadW, reserveWh };
  return {
    lastDay: finiteOrNull(balanceDaysToEmpty(facts, 24)),
    lastWeek: finiteOrNull(balanceDaysToEmpty(facts, 7 * 24)),
    noSun: finiteOrNull(noSunDaysToEmpty(facts)),
  };
}

/**
 * Equally likely days that stand for all paths: their quantiles in the middle of a hundred equal shares.
 *
 * @param sortedDays  ascending; Infinity = beyond the horizon; at least one
 */
export function fewDays(sortedDays: Float64Array): readonly number[] {
  const count = Math.min(MEMBERS, sortedDays.length);
  return Array.from(
    { length: count },
    (_, i) => sortedDays[Math.floor(((i + 0.5) / count) * sortedDays.length)]!,
  );
}

/** The reserve an outlook started from; undefined when it found too little. */
export const reserveOf = (outlook: Outlook): number | undefined =>
  outlook.kind === 'insufficient-data' ? undefined : outlook.drivers.reserveWh;

const finiteOrNull = (days: number): number | null => (Number.isFinite(days) ? days : null);
