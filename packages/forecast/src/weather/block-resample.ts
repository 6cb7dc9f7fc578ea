import { donorsOf, firstAtLeast, ratioOf, typicalRatios } from '../learn/donors.ts';
import type { YieldDay } from '../learn/yield-days.ts';
import type { SeededRandom } from '../seeded-random.ts';
import { likeDays } from './like-days.ts';
import type { WeatherDraw, WeatherSoFar, WeatherSource } from './weather-source.ts';

/** What the resampler may draw from. */
export interface BlockPool {
  /** Ascending by day, at least one. */
  readonly days: readonly YieldDay[];
  /** Solar day from which a day counts as recent: it is drawn whatever its date. */
  readonly recentFromDay: number;
  /** Envelope of the site, for censored days beyond every donor. */
  readonly siteScale: number;
  /** Yield the climate expects of a solar day; left out: the same of all. Days of another season are stretched by it. */
  readonly expected?: (day: number) => number;
}

const BLOCK_DAYS = 4;
/** The first block starts near the last known day: among the nearest 15, or a quarter of a smaller pool. */
const NEAREST = 15;
const NEAREST_SHARE = 4;
/** A day of another season is not stretched beyond this, either way. */
const MOST_STRETCH = 1.6;
const SEASON_SIGMA_DAYS = 25;
const DAYS_PER_YEAR = 365.25;
/**
 * Weather from the node's own past: blocks of four days drawn from the pool, the first one near the weather of now.
 *
 * A day known only from below is given, each time it is drawn, the ratio of a known day at least as good: the
 * redistribution to the right by which Kaplan and Meier's estimate treats censored values. Days of earlier years weigh by
 * how near their date is to the simulated one; recent days all weigh the same; a day heard in part weighs by that part.
 *
 * @param pool         days to draw from
 * @param horizonDays  simulated solar days, day 0 = the one in which the forecast starts
 * @returns a source; one sequence per draw
 * @throws RangeError when the pool is empty (a caller's bug)
 * @source moving blocks: Künsch 1989, Ann. Stat. 17:1217; censored days: `donorsOf`. Block length from the lag-1 and lag-2 correlations 0.28 and 0.06 of a northern maritime record
 */
export function blockResample(pool: BlockPool, horizonDays: number): WeatherSource {
  if (pool.days.length === 0) throw new RangeError('The weather pool holds no day.');
  const { days } = pool;
  const donors = donorsOf(days);
  const typical = typicalRatios(days, pool.siteScale);
  const openings = openingDays(days, typical);
  const cumulative = cumulativeWeights(pool, Math.ceil(horizonDays / BLOCK_DAYS));
  const stretch = stretchOf(pool, horizonDays);
  const followed = days.flatMap((day, i) => (days[i + 1]?.day === day.day + 1 ? [i] : []));
  const isFollowed = new Uint8Array(days.length);
  for (const index of followed) isFollowed[index] = 1;
  const known = Float64Array.from(days, (day) => (day.isCensored ? Number.NaN : day.ratio));
  const like = followed.length > 0 ? likeDays(typical, followed) : undefined;

  function draw(random: SeededRandom, into: WeatherDraw, soFar?: WeatherSoFar): void {
    let index = openings === undefined ? 0 : openings[random.below(openings.length)]!;
    let left = openings === undefined ? 0 : BLOCK_DAYS;
    if (soFar !== undefined) {
      // Carried on: the day after a day like the last one drawn.
      left = like === undefined ? 0 : BLOCK_DAYS;
      index = like === undefined ? 0 : like.draw(random, soFar.ratio) + 1;
    }
    for (let day = soFar?.fromDay ?? 0; day < into.ratio.length; day++) {
      // At the start of a block nothing has to follow.
      if (left === 0 || (left < BLOCK_DAYS && isFollowed[index] === 0)) {
        const weights = cumulative[Math.min(Math.floor(day / BLOCK_DAYS), cumulative.length - 1)]!;
        index = pick(weights, random.uniform());
        left = BLOCK_DAYS;
      } else if (left < BLOCK_DAYS) index++;
      let drawn = known[index]!;
      if (Number.isNaN(drawn))
        drawn = ratioOf(days, index, {
          donors,
          siteScale: pool.siteScale,
          share: random.uniform(),
        });
      into.ratio[day] = stretch === undefined ? drawn : drawn * stretch(day, index);
      into.poolDay[day] = index;
      left--;
    }
  }
  return { name: 'own-days', draw };
}

/** What a pool day's yield is multiplied by on a simulated day: the climate of that date over the climate of its own. */
function stretchOf(
  { expected, days }: BlockPool,
  horizonDays: number,
): ((day: number, index: number) => number) | undefined {
  if (expected === undefined) return undefined;
  const ahead = Float64Array.from({ length: Math.ceil(horizonDays) + 1 }, (_, day) =>
    expected(day),
  );
  const own = Float64Array.from(days, ({ day }) => Math.max(1e-3, expected(day)));
  return (day, index) => {
    const stretch = ahead[Math.min(day, ahead.length - 1)]! / own[index]!;
    return Math.min(MOST_STRETCH, Math.max(1 / MOST_STRETCH, stretch));
  };
}

/** Where the first block may start; undefined when neither today nor yesterday is known. */
function openingDays(
  days: readonly YieldDay[],
  typical: readonly number[],
): readonly number[] | undefined {
  const today = days.findIndex((day) => day.day === 0);
  const known = today >= 0 ? today : days.findIndex((day) => day.day === -1);
  if (known < 0) return undefined;
  // A block anchored on today replays a day like today; one anchored on yesterday, the day that followed.
  const step = known === today ? 0 : 1;
  const candidates = days
    .map((_, index) => index)
    .filter((index) => index !== known || step === 0)
    .filter((index) => step === 0 || days[index + 1]?.day === days[index]!.day + 1);
  if (candidates.length === 0) return undefined;
  const keep = Math.min(NEAREST, Math.max(1, Math.ceil(candidates.length / NEAREST_SHARE)));
  const distance = (index: number) => Math.abs(typical[index]! - typical[known]!);
  return candidates
    .sort((a, b) => distance(a) - distance(b) || b - a)
    .slice(0, keep)
    .map((index) => index + step);
}

/** One cumulative weight per pool day and block of simulated days, scaled to end at 1. */
function cumulativeWeights(pool: BlockPool, blocks: number): readonly Float64Array[] {
  const isSeasonal = pool.days.some(({ day }) => day < pool.recentFromDay);
  const first = cumulativeOf(pool, 0);
  return Array.from({ length: Math.max(1, blocks) }, (_, block) =>
    // Recent days weigh the same in all blocks.
    isSeasonal ? cumulativeOf(pool, block) : first,
  );
}

function cumulativeOf(pool: BlockPool, block: number): Float64Array {
  let sum = 0;
  const cumulative = Float64Array.from(pool.days, (day) => {
    const years = Math.round((block * BLOCK_DAYS - day.day) / DAYS_PER_YEAR);
    const offDate = block * BLOCK_DAYS - day.day - years * DAYS_PER_YEAR;
    const season =
      day.day >= pool.recentFromDay ? 1 : Math.exp(-0.5 * (offDate / SEASON_SIGMA_DAYS) ** 2);
    sum += season * day.heardShare;
    return sum;
  });
  return cumulative.map((value) => value / sum);
}

function pick(cumulative: Float64Array, uniform: number): number {
  return Math.min(firstAtLeast(cumulative, uniform), cumulative.length - 1);
}
