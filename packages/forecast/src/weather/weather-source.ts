import type { SeededRandom } from '../seeded-random.ts';

/** One possible weather, day by day; written over for every path. */
export interface WeatherDraw {
  /** Yield ratio of each simulated solar day: harvest over the clear-sky yardstick. */
  readonly ratio: Float64Array;
  /** The day of the pool whose temperatures go with it: an index into the pool of own days. */
  readonly poolDay: Int32Array;
}

/** A course that is already drawn up to a day, to be carried on. */
export interface WeatherSoFar {
  /** The first simulated day to fill. */
  readonly fromDay: number;
  /** Yield ratio of the day before it. */
  readonly ratio: number;
}

/** Something that can make up weather: one file each, listed in `weather/index.ts`. */
export interface WeatherSource {
  readonly name: string;
  /** Fills `into` with one possible course of the weather: every day, or the days from `soFar` on. */
  draw(random: SeededRandom, into: WeatherDraw, soFar?: WeatherSoFar): void;
}
