import type { WeatherSource } from './weather-source.ts';

/** A source and how often it is used. */
export interface WeatherShare {
  readonly source: WeatherSource;
  /** ≥ 0; the weights of all need not sum to 1. */
  readonly weight: number;
}

/**
 * Several sources side by side: each path is of one of them, never a mean of two, which would be no weather at all.
 *
 * @throws RangeError when no weight is above 0 (a caller's bug)
 */
export function mixedWeather(shares: readonly WeatherShare[]): WeatherSource {
  const used = shares.filter(({ weight }) => weight > 0);
  const total = used.reduce((sum, { weight }) => sum + weight, 0);
  if (!(total > 0)) throw new RangeError('A mixture needs a source with a weight above 0.');
  return {
    name: used.map(({ source }) => source.name).join(' + '),
    draw: (random, into, soFar) => {
      let left = random.uniform() * total;
      for (const { source, weight } of used) {
        left -= weight;
        if (left < 0 || source === used[used.length - 1]!.source)
          return source.draw(random, into, soFar);
      }
    },
  };
}
