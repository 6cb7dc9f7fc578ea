import { DAY_MS, HOUR_MS, type Position, type PowerSystem } from '@duskline/domain';
import {
  type DailyWeather,
  monthlyValueAt,
  referenceHourlyWh,
  solarDayStartMs,
  sunTimes,
} from '@duskline/energy';
import { seededRandom, type SeededRandom } from '../seeded-random.ts';
import { clearnessChain, clearnessYield } from '../weather/index.ts';
import type { SiteClimate } from './default-climate.ts';

export const DAYS_PER_YEAR = 365;
/** A year without a leap day, whose sun stands for every year's. */
const SUN_YEAR_START_MS = Date.UTC(2025, 0, 1);
const AIR_SIGMA_C = 3.5; // a day's mean about the month's; from memory, mid-latitudes
const AIR_MEMORY = 0.7; // of one day for the next; from memory
const SUNLIT_WARMTH_C = 2; // cells by day above the day's mean; assumption

/** Draws daily clearness for a year, given the last day of the year before. */
export type DrawClearness = (
  random: SeededRandom,
  into: Float64Array,
  yesterday: number | undefined,
) => void;

/**
 * Makes up years of daily weather for one panel at one place, from monthly means of sun and air.
 *
 * @param inputs.years           how many, ≥ 1
 * @param inputs.seed            same seed, same weather
 * @param inputs.drawClearness   other than the library of Markov matrices; for tests
 * @returns `years` × 365 days in a row, 1 January first; harvest of a panel of 1 W with all usual losses
 * @throws EnergyInputError, RangeError when place, panel or a monthly table are out of range
 * @source daily clearness: Aguiar, Collares-Pereira & Conde 1988; clearness to harvest: `clearnessYield`; air: monthly mean with
 *         an AR(1) of 3.5 K, from memory
 */
export function weatherYears(inputs: {
  readonly position: Position;
  readonly panel: Pick<PowerSystem['panel'], 'tiltDeg' | 'azimuthDeg'>;
  readonly climate: SiteClimate;
  readonly years: number;
  readonly seed: number;
  readonly drawClearness?: DrawClearness;
}): DailyWeather {
  const { position, climate, years, seed } = inputs;
  const panel = { ...inputs.panel, ratedW: 1 };
  const startMs = solarDayStartMs(SUN_YEAR_START_MS + DAY_MS / 2, position.longitudeDeg);
  const cloudlessWh = sumByDay(
    referenceHourlyWh({ position, panel, startMs, hours: 24 * DAYS_PER_YEAR }),
  );
  const lightH = daylightOf(position);
  const yields = clearnessYield({ position, panel, startMs, days: DAYS_PER_YEAR });
  const { clearnessByMonth } = climate;
  const chain = clearnessChain({ clearnessByMonth, startDayOfYear: 1, days: DAYS_PER_YEAR });
  const drawClearness: DrawClearness =
    inputs.drawClearness ?? ((random, into, yesterday) => chain.draw(random, into, { yesterday }));
  const meanAirC = Array.from({ length: DAYS_PER_YEAR }, (_, day) =>
    monthlyValueAt(climate.airCByMonth, SUN_YEAR_START_MS + (day + 0.5) * DAY_MS),
  );

  const random = seededRandom(seed);
  const days = years * DAYS_PER_YEAR;
  const harvestWhPerRatedW = new Float64Array(days);
  const daylightH = new Float64Array(days);
  const batteryC = new Float64Array(days);
  const clearness = new Float64Array(DAYS_PER_YEAR);
  let anomalyC = AIR_SIGMA_C * random.normal();
  for (let year = 0; year < years; year += 1) {
    const yesterday = year === 0 ? undefined : clearness[DAYS_PER_YEAR - 1]!;
    drawClearness(random, clearness, yesterday);
    for (let day = 0; day < DAYS_PER_YEAR; day += 1) {
      const at = year * DAYS_PER_YEAR + day;
      anomalyC =
        AIR_MEMORY * anomalyC + AIR_SIGMA_C * Math.sqrt(1 - AIR_MEMORY ** 2) * random.normal();
      harvestWhPerRatedW[at] = cloudlessWh[day]! * yields.ratio(day, clearness[day]!);
      daylightH[at] = lightH[day]!;
      batteryC[at] = meanAirC[day]! + anomalyC + SUNLIT_WARMTH_C;
    }
  }
  return { harvestWhPerRatedW, daylightH, batteryC };
}

function sumByDay(hourlyWh: Float64Array): Float64Array {
  const byDay = new Float64Array(hourlyWh.length / 24);
  for (const [hour, wh] of hourlyWh.entries()) {
    const day = Math.floor(hour / 24);
    byDay[day] = byDay[day]! + wh;
  }
  return byDay;
}

function daylightOf({ latitudeDeg, longitudeDeg }: Position): Float64Array {
  return Float64Array.from({ length: DAYS_PER_YEAR }, (_, day) => {
    const sun = sunTimes(SUN_YEAR_START_MS + day * DAY_MS, latitudeDeg, longitudeDeg);
    if (sun.kind === 'normal') return Math.min(24, (sun.setMs - sun.riseMs) / HOUR_MS);
    return sun.kind === 'polar-day' ? 24 : 0;
  });
}
