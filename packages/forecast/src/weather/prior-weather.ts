import { type ClearnessChain } from './clearness-chain.ts';
import type { ClearnessYield } from './clearness-yield.ts';
import type { LikeDays } from './like-days.ts';
import type { WeatherSource } from './weather-source.ts';

/** What weather from climate alone is made of. */
export interface PriorClimate {
  /** Courses of clearness from simulated day 0 on; one is drawn per path, by weight. */
  readonly chains: readonly { readonly chain: ClearnessChain; readonly weight: number }[];
  /** From clearness to yield, from day 0 on. */
  readonly yields: ClearnessYield;
  /** What the panel gives against its plate, and how sure that is: standard deviation of the logarithm. */
  readonly scale: { readonly ratio: number; readonly sigma: number };
  /** Yield ratio of the newest day known, and that day: 0 = today, −1 = yesterday. */
  readonly newest: { readonly day: number; readonly ratio: number } | undefined;
  /** Pool days of like yield, for their temperatures. */
  readonly like: LikeDays;
}

/**
 * Weather from climate alone: clearness by the published matrices, turned into yield by the physics of the panel, at the scale
 * the site is thought to have. What a node without history lives by, and what keeps a short history from being taken for all
 * that can come.
 */
export function priorWeather(climate: PriorClimate): WeatherSource {
  const { chains, yields, scale, newest, like } = climate;
  const total = chains.reduce((sum, { weight }) => sum + weight, 0);
  let buffer = new Float64Array(0);

  return {
    name: 'climate',
    draw: (random, into, soFar) => {
      const { ratio, poolDay } = into;
      if (buffer.length !== ratio.length) buffer = new Float64Array(ratio.length);
      const own = scale.ratio * Math.exp(scale.sigma * random.normal());
      let left = random.uniform() * total;
      const picked =
        chains.find(({ weight }) => (left -= weight) < 0) ?? chains[chains.length - 1]!;
      const fromDay = soFar?.fromDay ?? 0;
      const before =
        soFar?.ratio ?? (newest !== undefined && newest.day >= -1 ? newest.ratio : undefined);
      const clearness =
        before === undefined ? undefined : yields.clearness(fromDay - 1, before / own);
      picked.chain.draw(random, buffer, { fromDay, yesterday: clearness });
      for (let day = fromDay; day < ratio.length; day++) {
        ratio[day] = own * yields.ratio(day, buffer[day]!);
        poolDay[day] = like.draw(random, ratio[day]!);
      }
      // Of today, part is known: the rest is taken to go on like it.
      if (fromDay === 0 && newest?.day === 0 && ratio.length > 0)
        ratio[0] = (ratio[0]! + newest.ratio) / 2;
    },
  };
}
