import { donorsOf, ratioOf } from '../learn/donors.ts';
import type { YieldDay } from '../learn/yield-days.ts';
import type { BlockPool } from './block-resample.ts';
import { likeDays } from './like-days.ts';
import type { WeatherSource } from './weather-source.ts';

/** The pool a season is looked for in. */
export type SeasonPool = BlockPool;

const DAYS_PER_YEAR = 365.25;
/** A course of an earlier year may start this far before or after today's date. */
const START_WITHIN_DAYS = 20;
const LEAST_YEARS = 2;
/** A year counts when so many days around the date are known. */
const LEAST_DAYS = 30;

/**
 * Whole courses of the same season in earlier years, starting on a day like the newest one known: they carry all the memory that
 * weather has.
 *
 * A course that runs out of days goes on on the same date of another year.
 *
 * @returns undefined with fewer than two earlier years of the season
 */
export function seasonPaths(
  pool: SeasonPool,
  typical: readonly number[],
): { readonly source: WeatherSource; readonly years: number } | undefined {
  const { days, siteScale } = pool;
  const yearOf = (day: number): number => Math.round(-day / DAYS_PER_YEAR);
  const offDate = (day: number): number => day + yearOf(day) * DAYS_PER_YEAR;
  const perYear = new Map<number, number>();
  for (const { day } of days)
    if (yearOf(day) >= 1) perYear.set(yearOf(day), (perYear.get(yearOf(day)) ?? 0) + 1);
  const years = [...perYear].filter(([, count]) => count >= LEAST_DAYS).map(([year]) => year);
  if (years.length < LEAST_YEARS) return undefined;

  const indexOf = new Map(days.map(({ day }, index) => [day, index]));
  const starts = days.flatMap(({ day }, index) =>
    years.includes(yearOf(day)) &&
    Math.abs(offDate(day)) <= START_WITHIN_DAYS &&
    indexOf.has(day + 1)
      ? [index]
      : [],
  );
  if (starts.length === 0) return undefined;
  const like = likeDays(typical, starts);
  const donors = donorsOf(days);
  const newest = days[days.length - 1]!;
  const newestRatio = typical[typical.length - 1]!;

  const source: WeatherSource = {
    name: 'season',
    draw: (random, into, soFar) => {
      const fromDay = soFar?.fromDay ?? 0;
      const before = soFar?.ratio ?? (newest.day >= -1 ? newestRatio : undefined);
      let index =
        before === undefined ? starts[random.below(starts.length)]! : like.draw(random, before);
      for (let day = fromDay; day < into.ratio.length; day++) {
        const next = indexOf.get(days[index]!.day + 1);
        index = next ?? sameDate(indexOf, years, { day, pick: random.uniform() }) ?? starts[0]!;
        into.ratio[day] = days[index]!.isCensored
          ? ratioOf(days, index, { donors, siteScale, share: random.uniform() })
          : days[index]!.ratio;
        into.poolDay[day] = index;
      }
    },
  };
  return { source, years: years.length };
}

/** A day about the same date as a simulated one, in some earlier year; the nearest that is in the pool. */
function sameDate(
  indexOf: ReadonlyMap<YieldDay['day'], number>,
  years: readonly number[],
  wanted: { readonly day: number; readonly pick: number },
): number | undefined {
  const year = years[Math.floor(wanted.pick * years.length)]!;
  const target = wanted.day - Math.round(year * DAYS_PER_YEAR);
  for (let off = 0; off <= 2 * START_WITHIN_DAYS; off++) {
    const index = indexOf.get(target - off) ?? indexOf.get(target + off);
    if (index !== undefined) return index;
  }
  return undefined;
}
