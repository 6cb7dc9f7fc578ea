import { DAY_MS, type Position, type PowerSystem } from '@duskline/domain';
import { dayOfYear } from '@duskline/energy';
import { typicalRatios } from '../learn/donors.ts';
import type { YieldDay } from '../learn/yield-days.ts';
import { blockResample } from './block-resample.ts';
import { clearnessChain } from './clearness-chain.ts';
import { clearnessYield } from './clearness-yield.ts';
import { clearnessByLatitude, type ClearnessFrom, clearnessOn } from './climate-of.ts';
import { climateLevels } from './climate-levels.ts';
import { likeDays } from './like-days.ts';
import { mixedWeather, type WeatherShare } from './mixed-weather.ts';
import { expectedYield, panelAgainstClimate, type PanelScale } from './panel-against-climate.ts';
import { priorWeather } from './prior-weather.ts';
import { type SeasonPool, seasonPaths } from './season-paths.ts';
import type { WeatherSource } from './weather-source.ts';

/** What the weather of a site is made from. */
export interface WeatherFacts {
  readonly position: Position;
  readonly panel: PowerSystem['panel'];
  /** Where the forecast starts: day 0 holds it. */
  readonly startMs: number;
  /** Simulated solar days. */
  readonly days: number;
  readonly pool: SeasonPool;
  /** Twelve monthly means of daily clearness, 0.05 … 0.85; left out: learnt, from the latitude on. */
  readonly clearnessByMonth?: readonly number[];
}

/** What was used, and how often: goes with the outlook. */
export interface WeatherUse {
  /** Shares of the paths, summing to 1. */
  readonly ownShare: number;
  readonly seasonShare: number;
  readonly climateShare: number;
  readonly clearnessFrom: ClearnessFrom;
  /** What the panel gives against its plate, by the climate. */
  readonly panel: PanelScale;
}

/** Known days at which own history and climate have equal weight. Tuned in a published experiment's setting, not on stations. */
const EVEN_DAYS = 60;
const DAYS_PER_YEAR = 365.25;

/**
 * The weather a site's paths are drawn from: its own days, whole seasons of its earlier years, and the climate of its place.
 *
 * Each path is of one of them. Own history weighs n/(n + 60) with n known days; what was seen from below counts for less. With
 * two earlier years of the season, whole courses of them carry most of that weight.
 */
export function makeWeather(facts: WeatherFacts): {
  readonly source: WeatherSource;
  readonly use: WeatherUse;
} {
  const { position, panel, startMs, days: horizonDays, pool } = facts;
  const oldest = Math.max(-DAYS_PER_YEAR, pool.days[0]?.day ?? -1);
  const fromDay = Math.floor(Math.min(-1, oldest));
  const yields = clearnessYield({ position, panel, startMs, fromDay, days: horizonDays - fromDay });
  const recent = pool.days.filter((day) => day.day >= fromDay);
  const byMonth = facts.clearnessByMonth ?? clearnessByLatitude(position.latitudeDeg);
  const seasonOf = (day: number): number => clearnessOn(byMonth, dayOfYear(startMs + day * DAY_MS));
  const panelScale = panelAgainstClimate(recent, seasonOf, yields);
  const levels =
    facts.clearnessByMonth === undefined
      ? climateLevels({
          byLatitude: byMonth,
          days: recent,
          panelRatio: Math.min(1.1, Math.max(0.4, pool.siteScale)),
          yields,
          startMs,
        })
      : [{ clearnessByMonth: byMonth, weight: 1 }];
  const expected = (day: number): number => expectedYield(seasonOf(day), day, yields);
  const typical = typicalRatios(pool.days, pool.siteScale);
  const last = pool.days[pool.days.length - 1];
  const climate = priorWeather({
    chains: levels.map(({ clearnessByMonth, weight }) => ({
      chain: clearnessChain({
        clearnessByMonth,
        startDayOfYear: dayOfYear(startMs),
        days: horizonDays,
      }),
      weight,
    })),
    yields,
    scale: panelScale,
    newest: last === undefined ? undefined : { day: last.day, ratio: typical[typical.length - 1]! },
    like: likeDays(
      typical,
      pool.days.map((_, i) => i),
    ),
  });

  const known = knownDays(pool.days);
  const ownWeight = known / (known + EVEN_DAYS);
  const season = seasonPaths(pool, typical);
  const seasonWeight = season === undefined ? 0 : ownWeight * (season.years / (season.years + 1));
  const shares: WeatherShare[] = [
    { source: climate, weight: 1 - ownWeight },
    {
      source: blockResample({ ...pool, expected }, horizonDays),
      weight: ownWeight - seasonWeight,
    },
  ];
  if (season !== undefined) shares.push({ source: season.source, weight: seasonWeight });
  return {
    source: mixedWeather(shares),
    use: {
      ownShare: ownWeight - seasonWeight,
      seasonShare: seasonWeight,
      climateShare: 1 - ownWeight,
      clearnessFrom: facts.clearnessByMonth === undefined ? 'latitude' : 'site',
      panel: panelScale,
    },
  };
}

/** Days known count by what of them was heard; days known only from below by half. */
function knownDays(days: readonly YieldDay[]): number {
  return days.reduce((sum, day) => sum + day.heardShare * (day.isCensored ? 0.5 : 1), 0);
}
