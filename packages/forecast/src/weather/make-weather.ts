import { DAY_MS, type OutlookWeather, type Position, type PowerSystem } from '@duskline/domain';
import { dayOfYear } from '@duskline/energy';
import { typicalRatios } from '../learn/donors.ts';
import type { YieldDay } from '../learn/yield-days.ts';
import { blockResample } from './block-resample.ts';
import { clearnessChain } from './clearness-chain.ts';
import { clearnessYield } from './clearness-yield.ts';
import { clearnessByLatitude, clearnessOn } from './climate-of.ts';
import { climateLevels } from './climate-levels.ts';
import { likeDays } from './like-days.ts';
import { mixedWeather, type WeatherShare } from './mixed-weather.ts';
import { expectedYield, panelAgainstClimate } from './panel-against-climate.ts';
import { outsideCourse, type OutsideFacts } from './outside-course.ts';
import { outsideWeather } from './outside-weather.ts';
import { priorWeather } from './prior-weather.ts';
import { type SeasonPool, seasonPaths } from './season-paths.ts';
import { temperatureOfSeason } from './season-temperature.ts';
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
  /** Known days at which own history and climate have equal weight, from 0; left out: 60. */
  readonly evenDays?: number;
  /** A forecast from elsewhere, and past ones to judge it by. */
  readonly outside?: OutsideFacts;
  /** Battery temperature of the pool, °C: rows of 24 h, one per day of the pool; `isMeasured` false: an assumption. */
  readonly temperatureC: Float32Array;
  readonly isTemperatureMeasured: boolean;
}

/** Weather to draw from, and the temperatures its days point to. */
export interface MadeWeather {
  readonly source: WeatherSource;
  readonly use: OutlookWeather;
  /** Battery temperature, °C, rows of 24 h: of the pool, carried over to the season, then of the outside forecast. */
  readonly temperatureC: Float32Array;
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
export function makeWeather(facts: WeatherFacts): MadeWeather {
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
  const like = likeDays(
    typical,
    pool.days.map((_, i) => i),
  );
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
    like,
  });

  const known = knownDays(pool.days);
  const ownWeight = known / (known + (facts.evenDays ?? EVEN_DAYS));
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
  const table = facts.isTemperatureMeasured
    ? temperatureOfSeason(facts.temperatureC, pool.days, {
        startMs,
        latitudeDeg: position.latitudeDeg,
      })
    : facts.temperatureC;
  const mixed = {
    source: mixedWeather(shares),
    temperatureC: table,
    use: {
      ownShare: ownWeight - seasonWeight,
      seasonShare: seasonWeight,
      climateShare: 1 - ownWeight,
      clearnessFrom: facts.clearnessByMonth === undefined ? 'latitude' : 'site',
      panel: panelScale,
    } satisfies OutlookWeather,
  };
  if (facts.outside === undefined) return mixed;
  const outside = outsideCourse(facts.outside, {
    position,
    startMs,
    yields,
    days: recent,
    panelRatio: panelScale.ratio,
    firstRow: table.length / 24,
  });
  if (outside === undefined) return mixed;
  const { latest } = facts.outside;
  return {
    source: outsideWeather(outside.course, mixed.source, like),
    temperatureC: Float32Array.from([...table, ...outside.temperatureC]),
    use: {
      ...mixed.use,
      outside: {
        source: latest.source,
        issuedAtMs: latest.issuedAtMs,
        days: outside.course.members[0]!.length,
        pairs: outside.course.answer.pairs,
      },
    },
  };
}

/** Days known count by what of them was heard; days known only from below by half. */
function knownDays(days: readonly YieldDay[]): number {
  return days.reduce((sum, day) => sum + day.heardShare * (day.isCensored ? 0.5 : 1), 0);
}
