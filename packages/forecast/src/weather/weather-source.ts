import type { SeededRandom } from '../seeded-random.ts';

/** One possible weather, day by day; written over for every path. */
export interface WeatherDraw {
  /** Yield ratio of each simulated solar day: harvest over the clear-sky yardstick. */
  readonly ratio: Float64Array;
  /** The day of the pool whose temperatures go with it: an index into the source's pool. */
  readonly poolDay: Int32Array;
}

/** Something that can make up weather: one file each, listed in `weather/index.ts`. */
export interface WeatherSource {
  readonly name: string;
  /** Fills every day of `into` with one possible course of the weather. */
  draw(random: SeededRandom, into: WeatherDraw): void;
}
