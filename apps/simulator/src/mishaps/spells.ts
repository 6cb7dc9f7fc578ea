import { HOUR_MS } from '@duskline/domain';
import type { Weather } from '../weather.ts';

/** A stretch of weather of its own kind over the whole catchment. */
export interface Spell {
  readonly fromMs: number;
  readonly untilMs: number;
  /** Added to the air temperature, K. */
  readonly warmerK?: number;
  /** High pressure: no rain, and the sky's cloud cut to this share. */
  readonly dryCloudShare?: number;
  /** Adds precipitation of this rate from an overcast sky, mm/h. */
  readonly frontMmPerHour?: number;
}

const EDGE_MS = 6 * HOUR_MS;

/** Weather with spells laid over it; temperature comes and goes within six hours. */
export function withSpells(weather: Weather, spells: readonly Spell[]): Weather {
  return {
    at(atMs, siteIndex, elevationM) {
      let sky = weather.at(atMs, siteIndex, elevationM);
      for (const spell of spells) {
        const share = Math.min(
          1,
          Math.max(0, (atMs - spell.fromMs) / EDGE_MS, 0),
          Math.max(0, (spell.untilMs - atMs) / EDGE_MS),
        );
        if (share <= 0) continue;
        sky = { ...sky, airC: sky.airC + share * (spell.warmerK ?? 0) };
        if (spell.dryCloudShare !== undefined)
          sky = { ...sky, cloud: sky.cloud * spell.dryCloudShare, rainMmPerHour: 0 };
        if (spell.frontMmPerHour !== undefined)
          sky = {
            ...sky,
            cloud: Math.max(sky.cloud, 0.93),
            rainMmPerHour: Math.max(sky.rainMmPerHour, spell.frontMmPerHour),
            relativeHumidityPct: Math.max(sky.relativeHumidityPct, 92),
          };
      }
      return sky;
    },
  };
}
